/** What every answer carries, and whom the server does not listen to. */
import { once } from "node:events";
import { writeFileSync } from "node:fs";
import { type IncomingHttpHeaders, request } from "node:http";
import { connect } from "node:net";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { carsSchema, problemSchema } from "./api.ts";

let shop: ServedShop;
beforeAll(async () => {
  shop = await openShop(", address: 'https://paint.example', hostNames: [paint.lan]");
  writeFileSync(`${shop.pagesFolder}/assets/page-1.js`, "");
});
afterAll(async () => {
  await shop.close();
});

interface Answer {
  status: number | undefined;
  headers: IncomingHttpHeaders;
  text: string;
}

/** Asks with any headers, Host too, which fetch lets nobody set. An event stream is left after its first words. */
function get(path: string, headers: Record<string, string> = {}, method = "GET", body = ""): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const asking = request(shop.base + path, { method, headers }, (response) => {
      let text = "";
      const answered = () => resolve({ status: response.statusCode, headers: response.headers, text });
      response.on("data", (chunk: Buffer) => {
        text += chunk.toString();
        if (response.headers["content-type"]?.startsWith("text/event-stream") !== true) return;
        answered();
        asking.destroy();
      });
      response.on("end", answered);
    });
    asking.on("error", reject);
    asking.end(body);
  });
}

describe("a name that leads here and is not ours", () => {
  const entry = { "content-type": "application/json", origin: "http://rebound.example" };

  it.each([
    ["a page", "/", {}],
    ["the API", "/api/cars", {}],
    ["the event stream", "/api/stream", {}],
    ["nothing", "/nothing", {}],
    ["a page, though the page says a proxy asks for ours", "/", { "x-forwarded-host": "localhost" }],
  ])("is answered with what to do when it asks for %s", async (_what, path, more) => {
    const answer = await get(path, { host: "rebound.example:8080", ...more });
    expect(answer.status).toBe(421);
    expect(problemSchema.parse(JSON.parse(answer.text)).detail).toMatch(/name rebound\.example:8080.*hostNames/);
  });

  it("enters nothing, with a session either", async () => {
    const headers = { ...entry, host: "rebound.example", cookie: shop.cookies.painter };
    const car = { job: "J-7", name: "Grey van", place: "booth", panels: [{ name: "bonnet" }] };
    expect((await get("/api/cars", headers, "POST", JSON.stringify(car))).status).toBe(421);
    expect(carsSchema.parse((await ask(shop, "/api/cars")).body).cars).toEqual([]);
  });

  it("is not taken from a proxy on this machine either", async () => {
    expect((await get("/", { "x-forwarded-host": "rebound.example" })).status).toBe(421);
  });

  it.each([
    ["an address", {}],
    ["a name of the local network", { host: "coatclock.local:8080" }],
    ["the shop file's address", { host: "paint.example" }],
    ["a name that the shop file adds", { host: "paint.lan" }],
    ["the shop file's address through a proxy", { "x-forwarded-host": "paint.example", "x-forwarded-proto": "https" }],
  ])("is not %s", async (_what, headers) => {
    expect((await get("/", headers)).status).toBe(200);
  });
});

describe("every answer", () => {
  const classes = [
    ["a page", "/", 200, "no-cache"],
    ["a page of the desk", "/log", 200, "no-cache"],
    ["an asset", "/assets/page-1.js", 200, "public, max-age=31536000, immutable"],
    ["an asset that is not there", "/assets/none.js", 404, undefined],
    ["the API", "/api/cars", 200, "no-store"],
    ["the people", "/api/people", 200, "no-store"],
    ["an error", "/api/cars/none", 404, "no-store"],
    ["what is not there", "/nothing", 404, undefined],
    ["a download", "/api/log.csv", 200, "no-store"],
    ["the event stream", "/api/stream", 200, "no-store"],
  ] as const;

  it.each(classes)("keeps browsers to what is ours: %s", async (_what, path, status, cache) => {
    const { status: found, headers } = await get(path);
    expect(found).toBe(status);
    const policy = String(headers["content-security-policy"]).split(";");
    expect(policy).toEqual(
      expect.arrayContaining(["default-src 'self'", "frame-ancestors 'none'", "object-src 'none'", "base-uri 'none'"]),
    );
    expect(headers).toMatchObject({ "x-content-type-options": "nosniff", "referrer-policy": "no-referrer" });
    expect(headers["permissions-policy"]).toContain("camera=()");
    expect(headers["cross-origin-resource-policy"]).toBe("same-origin");
    expect(headers).not.toHaveProperty("x-powered-by");
    expect(headers).not.toHaveProperty("access-control-allow-origin");
    // Over plain HTTP browsers do not heed it.
    expect(headers).not.toHaveProperty("strict-transport-security");
    if (cache !== undefined) expect(headers["cache-control"]).toBe(cache);
    else expect(headers["cache-control"] ?? "").not.toContain("immutable");
  });

  it("names a download as one", async () => {
    expect((await get("/api/log.csv")).headers["content-disposition"]).toMatch(
      /^attachment; filename="?tested-log-.*csv"?$/,
    );
  });
});

describe("who sends too much or too slowly", () => {
  it.each([
    ["a body that is too long", "POST", { "content-type": "application/json" }, `"${"x".repeat(300_000)}"`, 413],
    ["headers that are too long", "GET", { "x-long": "x".repeat(20_000) }, "", 431],
  ])("is refused: %s", async (_what, method, headers, body, status) => {
    expect((await get("/api/cars", headers, method, body)).status).toBe(status);
  });

  it("is left when it sends nothing or headers without an end, and others are answered meanwhile", async () => {
    const left = ["", "GET / HTTP/1.1\r\nHost: localhost\r\nX-A: b\r\n"].map(async (text) => {
      const slow = connect(Number(new URL(shop.base).port), "127.0.0.1");
      await once(slow, "connect");
      slow.resume();
      slow.write(text);
      await once(slow, "close");
    });
    expect((await get("/api/cars")).status).toBe(200);
    await Promise.all(left);
  }, 40_000);
});
