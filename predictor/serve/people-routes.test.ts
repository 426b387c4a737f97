import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { ask as askShop, openShop, type ServedShop, signIn } from "../../tests/served-shop.ts";
import { roles } from "../people/people.ts";
import { meSchema, peopleSchema } from "./people-api.ts";

let shop: ServedShop;
beforeEach(async () => {
  shop = await openShop();
});
afterEach(async () => {
  await shop.close();
});
const ask = (...question: Parameters<typeof askShop> extends [ServedShop, ...infer Rest] ? Rest : never) =>
  askShop(shop, ...question);
const as = (role: (typeof roles)[number]) => ({ cookie: shop.cookies[role] });
const aCar = { job: "J-7", name: "Grey van", place: "booth", panels: [{ name: "bonnet" }] };
const jobs = async () => ((await ask("/api/cars")).body as { cars: { job: string }[] }).cars.map(({ job }) => job);

interface Described {
  paths: Record<string, Record<string, { security?: unknown[]; summary: string }>>;
}

describe("who may do what", () => {
  it("is asked at every entry: nobody's is taken, and a role that may not is told so", async () => {
    const { paths } = (await ask("/api/openapi.json")).body as Described;
    const entries = Object.entries(paths).flatMap(([path, methods]) =>
      Object.entries(methods).flatMap(([method, { security, summary }]) =>
        security === undefined ? [] : [{ path: path.replaceAll(/\{\w+\}/g, "none"), method, summary }],
      ),
    );
    expect(entries.length).toBeGreaterThanOrEqual(18);
    for (const { path, method, summary } of entries) {
      const given = (headers: Record<string, string>) => ask(path, {}, method.toUpperCase(), headers);
      expect((await given({ cookie: "" })).status, `${method} ${path}, nobody`).toBe(401);
      const named = roles.filter((role) => new RegExp(`\\(.*${role}.*\\)$`).test(summary));
      for (const role of roles) {
        const { status } = await given(as(role));
        const isAllowed = named.length === 0 || named.includes(role);
        // What is allowed gets on to its body, which is empty here.
        expect(status === 403, `${method} ${path}, ${role}: ${status}`).toBe(!isAllowed);
        expect(status).not.toBe(401);
      }
    }
  });

  it("is the installer's for people, and the quality lead's for signatures", async () => {
    const paula = { name: "Paula", role: "painter", pin: "1538" };
    const refused = await ask("/api/people?language=de", paula, "POST", as("painter"));
    expect(refused).toMatchObject({
      status: 403,
      body: { detail: "Das ist für Installateur; angemeldet als Lackierer." },
    });
    const { people } = peopleSchema.parse((await ask("/api/people", paula, "POST", as("installer"))).body);
    expect(people.map(({ name }) => name)).toContain("Paula");
    expect(await ask("/api/people/Paula", { isActive: false }, "PATCH", as("installer"))).toMatchObject({
      status: 200,
    });
    expect(await ask("/api/people/Nobody", { isActive: false }, "PATCH", as("installer"))).toMatchObject({
      status: 404,
    });
  });
});

describe("signing in over HTTP", () => {
  const post = (path: string, body: object, headers: Record<string, string> = { cookie: "" }) =>
    ask(path, body, "POST", headers);

  it("sets a cookie that no script reads and no other site sends", async () => {
    const { status, headers, body } = await post("/api/sign-in", { name: "painter a", pin: "7294" });
    expect(status).toBe(200);
    expect(meSchema.parse(body).person).toEqual({ name: "Painter A", role: "painter" });
    for (const cookie of headers.getSetCookie()) expect(cookie).toMatch(/; Path=\/; HttpOnly; SameSite=Strict$/i);
    expect(headers.getSetCookie()).toHaveLength(2);
  });

  it("says who it is, and nobody after signing out", async () => {
    const cookie = await signIn(shop.base, "Painter A");
    expect(meSchema.parse((await ask("/api/me", undefined, "GET", { cookie })).body).person?.name).toBe("Painter A");
    await post("/api/sign-out", {}, { cookie });
    expect(meSchema.parse((await ask("/api/me", undefined, "GET", { cookie })).body).person).toBeNull();
  });

  it("refuses a wrong PIN, and tells how long to wait after many", async () => {
    const wrong = () => post("/api/sign-in", { name: "Painter A", pin: "0000" });
    expect(await wrong()).toMatchObject({ status: 401, body: { detail: "Name or PIN is not right." } });
    for (let tries = 0; tries < 4; tries++) await wrong();
    const waits = await wrong();
    expect(waits).toMatchObject({ status: 429, body: { detail: expect.stringContaining("Try again at") } });
    expect(Number(waits.headers.get("retry-after"))).toBeGreaterThan(30);
  });

  it("takes no more than thirty tries a minute from one address", async () => {
    const statuses: number[] = [];
    for (let tries = 0; tries < 40; tries++) {
      statuses.push((await post("/api/sign-in", { name: `x${tries % 3}`, pin: "0000" })).status);
    }
    expect(statuses.at(-1)).toBe(429);
    expect(await jobs()).toEqual([]);
  });

  it("refuses a second set-up", async () => {
    expect(await post("/api/set-up", { token: "x", name: "Eve", pin: "1111" })).toMatchObject({ status: 401 });
  });

  it("changes one's own PIN", async () => {
    expect(await post("/api/me/pin", { pin: "7294", newPin: "8052" })).toMatchObject({ status: 401 });
    const changed = await post("/api/me/pin", { pin: "7294", newPin: "8052" }, as("painter"));
    expect(changed).toMatchObject({ status: 200, body: { person: { name: "Painter A" } } });
    expect(await signIn(shop.base, "Painter A", "8052")).toContain("coatclock=");
  });
});

describe("an entry", () => {
  it("is in the name of whoever is signed in, and stands in the car's history with its hash", async () => {
    const id = "A".repeat(22);
    await ask("/api/cars", { ...aCar, id });
    const { entries } = (await ask(`/api/cars/${id}/entries`)).body as { entries: Record<string, unknown>[] };
    expect(entries).toMatchObject([
      {
        who: "Painter A",
        role: "painter",
        kind: "car-came",
        clock: "synchronised",
        hash: expect.stringMatching(/^[0-9a-f]{64}$/),
      },
    ]);
  });

  it("with a key is recorded once, however often it comes", async () => {
    const key = { "idempotency-key": "k".repeat(22), ...as("painter") };
    expect((await ask("/api/cars", aCar, "POST", key)).status).toBe(201);
    expect(await ask("/api/cars", aCar, "POST", key)).toMatchObject({ status: 200, body: { known: true } });
    expect(await jobs()).toEqual(["J-7"]);
    const bad = await ask("/api/cars", aCar, "POST", { ...as("painter"), "idempotency-key": "short" });
    expect(bad.status).toBe(400);
  });

  it("that comes twice at once is recorded once", async () => {
    const id = "B".repeat(22);
    await ask("/api/cars", { ...aCar, id });
    const key = { "idempotency-key": "c".repeat(22), ...as("painter") };
    const coat = { panels: ["bonnet"], sheet: "demo-clear" };
    const both = await Promise.all([1, 2].map(() => ask(`/api/cars/${id}/coats`, coat, "POST", key)));
    expect(both.map(({ status }) => status).sort()).toEqual([200, 201]);
    const car = (await ask(`/api/cars/${id}`)).body as { coats: unknown[] };
    expect(car.coats).toHaveLength(1);
  });

  it.each([
    ["a page of another site", { origin: "http://elsewhere.example" }],
    ["another site's page, as the browser says", { "sec-fetch-site": "cross-site" }],
  ])("from %s is refused, though the cookie came along", async (_from, headers) => {
    expect((await ask("/api/cars", aCar, "POST", { ...as("painter"), ...headers })).status).toBe(403);
    expect(await jobs()).toEqual([]);
  });

  it.each([
    "coatclock=",
    "coatclock=x; coatclock=y",
    `coatclock=${"A".repeat(43)}`,
    "coatclock=%00",
    ";;=;",
    "a".repeat(5000),
  ])("with the cookie %s is nobody's", async (cookie) => {
    expect((await ask("/api/cars", aCar, "POST", { cookie })).status).toBe(401);
  });
});

describe("a shop whose reading is for those signed in", () => {
  it("shows its walls to anyone and the rest to them", async () => {
    await shop.close();
    shop = await openShop(", reading: signed-in");
    const nobody = (path: string) => ask(path, undefined, "GET", { cookie: "" });
    for (const path of ["/api/places/booth/wall", "/api/overview"]) expect((await nobody(path)).status).toBe(200);
    for (const path of ["/api/cars", "/api/health", "/api/stream", "/api/people"]) {
      expect((await nobody(path)).status, path).toBe(401);
    }
    expect(meSchema.parse((await nobody("/api/me")).body).people).toEqual([]);
    expect((await ask("/api/cars")).status).toBe(200);
  });
});
