import { networkInterfaces } from "node:os";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { ask as askShop, openShop, type ServedShop, signIn, testPin } from "../../tests/served-shop.ts";
import type { roles } from "../people/people.ts";
import { meSchema, peopleSchema } from "./people-api.ts";

let shop: ServedShop;
beforeEach(async () => {
  shop = await openShop(", address: 'https://shop.example'");
});
afterEach(async () => {
  await shop.close();
});
const ask = (...question: Parameters<typeof askShop> extends [ServedShop, ...infer Rest] ? Rest : never) =>
  askShop(shop, ...question);
const as = (role: (typeof roles)[number]) => ({ cookie: shop.cookies[role] });
const aCar = { job: "J-7", name: "Grey van", place: "booth", panels: [{ name: "bonnet" }] };
/** An address of this machine that is not loopback, where there is one. */
const network = Object.values(networkInterfaces())
  .flatMap((addresses) => addresses ?? [])
  .find(({ family, internal }) => family === "IPv4" && !internal)?.address;
const jobs = async () => ((await ask("/api/cars")).body as { cars: { job: string }[] }).cars.map(({ job }) => job);

describe("who may do what", () => {
  it("is the installer's for people, and the quality lead's for signatures", async () => {
    const paula = { name: "Paula", role: "painter", pin: "1538" };
    const refused = await ask("/api/people?language=de", paula, "POST", as("painter"));
    expect(refused).toMatchObject({
      status: 403,
      body: { detail: "Das ist für Installateur; angemeldet als Lackierer." },
    });
    const { people } = peopleSchema.parse((await ask("/api/people", paula, "POST", as("installer"))).body);
    expect(people.map(({ name }) => name)).toContain("Paula");
    const easy = await ask("/api/people?language=de", { ...paula, name: "Eve", pin: "1234" }, "POST", as("installer"));
    expect(easy).toMatchObject({ status: 409, body: { detail: expect.stringContaining("probiert jeder zuerst") } });
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
    const { status, headers, body } = await post("/api/sign-in", { name: "painter a", pin: testPin });
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

  it("makes an address wait that tries many names, but for the phones that are known there", async () => {
    const answers = [];
    for (let number = 0; number < 12; number++) {
      answers.push(await post("/api/sign-in?language=de", { name: `x${number}`, pin: "0000" }));
    }
    expect(answers.map(({ status }) => status)).toEqual([...Array.from({ length: 11 }, () => 401), 429]);
    expect(answers.at(-1)?.body).toMatchObject({ detail: expect.stringContaining("von dieser Netzwerkadresse") });
    const painter = { name: "Painter A", pin: testPin };
    for (let times = 0; times < 40; times++) {
      expect((await post("/api/sign-in", painter, as("painter"))).status).toBe(200);
    }
    expect((await post("/api/sign-in", painter)).status).toBe(429);
  });

  it("refuses a second set-up", async () => {
    expect(await post("/api/set-up", { token: "x", name: "Eve", pin: "1111" })).toMatchObject({ status: 401 });
  });

  it("changes one's own PIN", async () => {
    expect(await post("/api/me/pin", { pin: testPin, newPin: "8052" })).toMatchObject({ status: 401 });
    const changed = await post("/api/me/pin", { pin: testPin, newPin: "8052" }, as("painter"));
    expect(changed).toMatchObject({ status: 200, body: { person: { name: "Painter A" } } });
    expect(await signIn(shop.base, "Painter A", "8052")).toContain("coatclock=");
  });
});

describe("the list of people", () => {
  it("is the active ones for whoever may read, and for an installer all, with who is locked out", async () => {
    await ask("/api/people/Quality%20A", { isActive: false }, "PATCH", as("installer"));
    for (let tries = 0; tries < 5; tries++) {
      await ask("/api/sign-in", { name: "Painter A", pin: "0000" }, "POST", { cookie: "" });
    }
    const list = async (headers: Record<string, string>) =>
      peopleSchema.parse((await ask("/api/people", undefined, "GET", headers)).body).people;
    for (const headers of [{ cookie: "" }, as("painter")]) {
      expect(await list(headers)).toEqual([
        { name: "Installer A", role: "installer", isActive: true, lockedUntil: null },
        { name: "Painter A", role: "painter", isActive: true, lockedUntil: null },
      ]);
    }
    expect(await list(as("installer"))).toMatchObject([
      { name: "Installer A", lockedUntil: null },
      { name: "Painter A", lockedUntil: expect.any(String) },
      { name: "Quality A", isActive: false },
    ]);
  });
});

describe("behind a proxy on this machine that speaks TLS", () => {
  const proxied = { "x-forwarded-proto": "https", "x-forwarded-host": "shop.example", "x-forwarded-for": "192.0.2.7" };

  it("entries are taken from the address that the browser knows, and from no other", async () => {
    const headers = { ...as("painter"), ...proxied };
    const from = async (origin: string) => (await ask("/api/cars", aCar, "POST", { ...headers, origin })).status;
    expect(await from("https://shop.example")).toBe(201);
    for (const origin of ["http://shop.example", "https://elsewhere.example", shop.base]) {
      expect(await from(origin), origin).toBe(403);
    }
  });

  it("cookies go through TLS only", async () => {
    const signingIn = { name: "Painter A", pin: testPin };
    const { headers } = await ask("/api/sign-in", signingIn, "POST", { cookie: "", ...proxied });
    expect(headers.getSetCookie()).toHaveLength(2);
    for (const cookie of headers.getSetCookie()) expect(cookie).toMatch(/; Secure/);
  });

  it.skipIf(network === undefined)("what others on the network say of a proxy is not believed", async () => {
    const base = shop.base.replace("127.0.0.1", network ?? "");
    const headers = { "content-type": "application/json", ...as("painter"), ...proxied };
    const entry = { method: "POST", body: JSON.stringify(aCar) };
    const from = async (origin: string) =>
      (await fetch(`${base}/api/cars`, { ...entry, headers: { ...headers, origin } })).status;
    expect(await from("https://shop.example")).toBe(403);
    expect(await from(base)).toBe(201);
  });

  it("tries are counted for the address that the proxy names", async () => {
    const tryAs = (name: string, address: string, pin = "0000") =>
      ask("/api/sign-in", { name, pin }, "POST", { cookie: "", ...proxied, "x-forwarded-for": address });
    for (let number = 0; number < 11; number++) await tryAs(`x${number}`, "192.0.2.7");
    expect((await tryAs("Painter A", "192.0.2.7", testPin)).status).toBe(429);
    expect((await tryAs("Painter A", "192.0.2.8", testPin)).status).toBe(200);
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

  it("about a person with a key is made once, however often it comes", async () => {
    const headers = { "idempotency-key": "p".repeat(22), ...as("installer") };
    const paula = { name: "Paula", role: "painter", pin: "1538" };
    const both = await Promise.all([1, 2].map(() => ask("/api/people", paula, "POST", headers)));
    expect(both.map(({ status }) => status).sort()).toEqual([200, 201]);
    expect(await ask("/api/people", paula, "POST", headers)).toMatchObject({ status: 200, body: { known: true } });
    const again = { ...headers, "idempotency-key": "q".repeat(22) };
    const pins = await Promise.all([1, 2].map(() => ask("/api/people/Paula", { pin: "2794" }, "PATCH", again)));
    expect(pins.map(({ status }) => status)).toEqual([200, 200]);
    expect(pins.map(({ body }) => JSON.stringify(body)).filter((body) => body === '{"known":true}')).toHaveLength(1);
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
