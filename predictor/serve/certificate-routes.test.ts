import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { air, ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { hashOf } from "../records/log.ts";

let shop: ServedShop;
const ago = (minutes: number) => new Date(Date.now() - minutes * 60_000).toISOString();
const open = async (more = "") => {
  shop = await openShop(more);
  for (let minutes = 50; minutes >= 0; minutes -= 5) shop.send(air(18, 50, -60 * minutes));
};
beforeEach(() => open());
afterEach(async () => {
  await shop.close();
});

const as = (role: "painter" | "quality", more: Record<string, string> = {}) => ({
  cookie: shop.cookies[role],
  ...more,
});

async function aCoat(): Promise<{ car: string; coat: string }> {
  const panels = [{ name: "bonnet" }];
  const entered = await ask(shop, "/api/cars", { job: "J-7 ü", name: "Grey van", place: "booth", panels, at: ago(49) });
  const { id: car } = entered.body as { id: string };
  const coat = { panels: ["bonnet"], sheet: "demo-clear", finishedAt: ago(40) };
  const { body } = await ask(shop, `/api/cars/${car}/coats`, coat);
  return { car, coat: (body as { coats: { id: string }[] }).coats[0]?.id ?? "" };
}

const issue = (path: string, headers = as("quality")) => ask(shop, `${path}/certificates`, {}, "POST", headers);
const take = (path: string, headers = {}) => fetch(shop.base + path, { headers });

describe("certificates", () => {
  it("are issued by the quality lead alone, once for one key, and handed over as file and as pages", async () => {
    const { coat } = await aCoat();
    expect(await issue(`/api/coats/${coat}`, as("painter"))).toMatchObject({ status: 403 });
    const key = { "idempotency-key": "0123456789abcdef" };
    const { status, body } = await issue(`/api/coats/${coat}`, as("quality", key));
    expect(status).toBe(201);
    const { digest } = body as { digest: string };
    expect(await issue(`/api/coats/${coat}`, as("quality", key))).toMatchObject({ status: 200, body: { known: true } });

    const file = await take(`/api/certificates/${digest}/file`);
    expect(file.headers.get("content-type")).toMatch(/^application\/json/);
    expect(file.headers.get("content-disposition")).toContain(
      `filename*=UTF-8''certificate-J-7-%C3%BC-bonnet-${digest.slice(0, 8)}.json`,
    );
    expect(hashOf(Buffer.from(await file.arrayBuffer()))).toBe(digest);
    const print = await take(`/api/certificates/${digest}/print`);
    expect(print.headers.get("content-type")).toBe("application/pdf");
    expect(
      Buffer.from(await print.arrayBuffer())
        .subarray(0, 5)
        .toString(),
    ).toBe("%PDF-");
  });

  it("are issued of a car, and refused of one without coats", async () => {
    const { car } = await aCoat();
    expect(await issue(`/api/cars/${car}`)).toMatchObject({ status: 201, body: { digest: expect.any(String) } });
    expect(await issue("/api/cars/none")).toMatchObject({ status: 404 });
    const panels = [{ name: "roof" }];
    const empty = await ask(shop, "/api/cars", { job: "J-8", name: "Empty", place: "booth", panels });
    expect(await issue(`/api/cars/${(empty.body as { id: string }).id}`)).toMatchObject({
      status: 409,
      body: { detail: "No coat of job J-8 counts, so there is nothing to certify." },
    });
  });

  it("that were not issued are not found, and a digest that can be none is refused", async () => {
    expect((await take(`/api/certificates/${"0".repeat(64)}/file`)).status).toBe(404);
    expect((await take("/api/certificates/..%2F..%2Frecords.db/file")).status).toBe(400);
  });

  it("are behind the sign-in where reading is", async () => {
    await shop.close();
    await open(", reading: signed-in");
    const { coat } = await aCoat();
    const { digest } = (await issue(`/api/coats/${coat}`)).body as { digest: string };
    for (const form of ["file", "print"]) {
      expect((await take(`/api/certificates/${digest}/${form}`)).status).toBe(401);
      expect((await take(`/api/certificates/${digest}/${form}`, as("painter"))).status).toBe(200);
    }
  });

  it("stand in the description of the API with their media types", async () => {
    // OpenAPI 3.1 says of bytes nothing but their media type.
    const { paths } = (await ask(shop, "/api/openapi.json")).body as { paths: Record<string, { get: unknown }> };
    expect(paths["/api/certificates/{digest}/print"]?.get).toMatchObject({
      responses: { 200: { content: { "application/pdf": {} } } },
    });
  });
});
