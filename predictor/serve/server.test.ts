import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { air, ask as askShop, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { carsSchema, placeViewSchema, problemSchema } from "./api.ts";
import { healthSchema } from "./health.ts";

let shop: ServedShop;
const ask = (...question: Parameters<typeof askShop> extends [ServedShop, ...infer Rest] ? Rest : never) =>
  askShop(shop, ...question);

beforeEach(async () => {
  shop = await openShop();
});
afterEach(async () => {
  await shop.close();
});

const aCar = {
  job: "J-7",
  name: "Grey van",
  place: "booth",
  panels: [{ name: "bonnet" }, { name: "bumper", substrate: "plastic" }],
};

async function takeInCar(): Promise<string> {
  const { body } = await ask("/api/cars", { ...aCar, at: new Date(Date.now() - 3_600_000).toISOString() });
  return (body as { id: string }).id;
}

describe("the API", () => {
  it("takes in a car and a coat on it, one for each substrate, and follows them on the wall", async () => {
    shop.send(air(21, 50, -60));
    shop.send(air(21, 50, 0));
    const car = await takeInCar();
    const finishedAt = new Date(Date.now() - 30_000).toISOString();
    const { status, body } = await ask(`/api/cars/${car}/coats`, {
      panels: ["bonnet", "bumper"],
      sheet: "demo-clear",
      finishedAt,
    });
    expect(status).toBe(201);
    expect((body as { coats: { substrate: string }[] }).coats.map((coat) => coat.substrate)).toEqual([
      "steel",
      "plastic",
    ]);
    await expect
      .poll(async () =>
        placeViewSchema
          .parse((await ask("/api/places/booth/wall")).body)
          .coats.map((coat) => coat.prediction?.next?.stage),
      )
      .toEqual(["dust-free", "dust-free"]);
    expect(carsSchema.parse((await ask("/api/cars")).body).cars[0]?.coats).toHaveLength(2);
  });

  it("records a move, a departure and a correction with its reason and the old value", async () => {
    const car = await takeInCar();
    const { body } = await ask(`/api/cars/${car}/coats`, { panels: ["bonnet"], sheet: "demo-clear" });
    const [coat] = (body as { coats: { id: string; finishedAt: string }[] }).coats;
    const finishedAt = new Date(Date.now() - 600_000).toISOString();
    const corrected = await ask(`/api/coats/${coat?.id}`, { reason: "entered late", finishedAt }, "PATCH");
    expect(corrected).toMatchObject({ status: 200, body: { finishedAt } });
    const nothing = await ask(`/api/coats/${coat?.id}`, { reason: "no change" }, "PATCH");
    expect(nothing).toMatchObject({
      status: 400,
      body: { detail: expect.stringContaining("finishedAt, filmUm or sheet") },
    });
    expect((await ask(`/api/coats/${coat?.id}`)).body).toMatchObject({
      corrections: [
        { who: "Painter A", reason: "entered late", field: "finishedAt", was: coat?.finishedAt, became: finishedAt },
      ],
    });
    expect(await ask(`/api/cars/${car}/moves`, { place: "yard" })).toMatchObject({
      status: 201,
      body: { place: { id: "yard" } },
    });
    expect(await ask(`/api/cars/${car}/departure`, { at: new Date(Date.now() + 1000).toISOString() })).toMatchObject({
      status: 201,
      body: { place: null },
    });
    expect(carsSchema.parse((await ask("/api/cars")).body).cars).toEqual([]);
  });

  it.each([
    ["an unknown place", "/api/places/cellar/wall", undefined, 404, /No place "cellar".*booth, yard/],
    ["an unknown car", "/api/cars/nope", undefined, 404, /no car nope/],
    ["an unknown path", "/api/nothing", undefined, 404, /openapi/],
    ["a body that is not JSON", "/api/cars", "{oops", 400, /JSON/],
    [
      "a span that ends before it begins",
      "/api/places/booth/climate?from=2026-01-02T00:00:00Z&to=2026-01-01T00:00:00Z",
      undefined,
      400,
      /must lie before/,
    ],
    ["a car in an unknown place", "/api/cars", { ...aCar, place: "cellar" }, 404, /No place "cellar"/],
    [
      "an arrival ahead of the clock",
      "/api/cars",
      { ...aCar, at: "2099-01-01T00:00:00Z" },
      409,
      /1 Jan 2099 .* lies ahead/,
    ],
    ["a panel named twice", "/api/cars", { ...aCar, panels: [{ name: "roof" }, { name: "roof" }] }, 409, /named twice/],
  ])("answers %s with problem details", async (_name, path, body, status, detail) => {
    const answer = await ask(path, body);
    expect(answer.status).toBe(status);
    expect(answer.headers.get("content-type")).toContain("application/problem+json");
    expect(problemSchema.parse(answer.body)).toMatchObject({ status, detail: expect.stringMatching(detail) });
  });

  it.each(["__proto__", "constructor", "toString", "%2e%2e"])("knows no place called %s", async (name) => {
    for (const path of ["wall", `climate?from=2026-01-01T00:00:00Z&to=2026-01-02T00:00:00Z`]) {
      expect((await ask(`/api/places/${name}/${path}`)).status).toBe(404);
    }
    expect((await ask(`/api/stream?place=${name}`)).status).toBe(404);
    expect((await ask("/api/cars", { ...aCar, place: name })).status).toBeGreaterThanOrEqual(400);
  });

  it("never fails at what it is sent", async () => {
    const car = await takeInCar();
    const key = fc.constantFrom(
      "job",
      "name",
      "place",
      "at",
      "panels",
      "sheet",
      "finishedAt",
      "filmUm",
      "reason",
      "substrate",
    );
    const value = fc.oneof(
      fc.jsonValue(),
      fc.constantFrom("booth", "demo-clear", ["bonnet"], "2026-03-02T08:00:00Z", 1e308, -1),
    );
    const body = fc.oneof(fc.dictionary(key, value), fc.jsonValue());
    const path = fc.constantFrom(
      "/api/cars",
      `/api/cars/${car}/coats`,
      `/api/cars/${car}/moves`,
      "/api/cars/none/moves",
    );
    await fc.assert(
      fc.asyncProperty(path, body, async (where, what) => {
        const { status } = await ask(where, JSON.stringify(what));
        expect(status).toBeGreaterThanOrEqual(200);
        expect(status).toBeLessThan(500);
      }),
      { numRuns: 400 },
    );
  });

  it("names every field that does not fit", async () => {
    const { status, body } = await ask("/api/cars", { job: "", name: 7, place: "booth", panels: [], tint: "red" });
    expect(status).toBe(400);
    expect(problemSchema.parse(body).faults?.map((fault) => fault.path)).toEqual([
      "body.job",
      "body.name",
      "body.panels",
      "body.tint",
    ]);
  });

  it("refuses an unknown sheet and an unknown panel, and names those there are", async () => {
    const car = await takeInCar();
    expect((await ask(`/api/cars/${car}/coats`, { panels: ["bonnet"], sheet: "x" })).body).toMatchObject({
      status: 409,
      detail: expect.stringContaining("demo-clear"),
    });
    expect((await ask(`/api/cars/${car}/coats`, { panels: ["roof"], sheet: "demo-clear" })).body).toMatchObject({
      detail: expect.stringContaining("bonnet, bumper"),
    });
  });

  it("takes no entry from a page of another site, nor one that is not JSON", async () => {
    expect(await ask("/api/cars", aCar, "POST", { origin: "http://elsewhere.example" })).toMatchObject({ status: 403 });
    expect(await ask("/api/cars", "job=J-7", "POST", { "content-type": "text/plain" })).toMatchObject({ status: 415 });
    expect(carsSchema.parse((await ask("/api/cars")).body).cars).toEqual([]);
  });

  it("tells in its health of sensors, the clock, and a refused pack with its reason", async () => {
    shop.send(air(21, 50));
    shop.sendRaw("{broken");
    await expect.poll(async () => healthSchema.parse((await ask("/api/health")).body).intake.packsStored).toBe(1);
    const health = healthSchema.parse((await ask("/api/health")).body);
    expect(health.intake.refused[0]).toMatchObject({
      collector: "pi",
      reason: expect.stringContaining("not JSON"),
      payload: "{broken",
    });
    expect(
      health.sensors.find((sensor) => sensor.place === "booth" && sensor.quantity === "air-temperature"),
    ).toMatchObject({ value: 21, current: true });
    expect(health.sensors.find((sensor) => sensor.place === "yard")).toMatchObject({ value: null, current: false });
    expect(health).toMatchObject({
      state: "attention",
      clock: { state: "synchronised" },
      versions: { coatclock: "0.0.0-test" },
    });
  });

  it("thins a span to the points asked for and keeps minima and maxima", async () => {
    const from = new Date(Date.now() - 3_600_000).toISOString();
    for (let n = 0; n < 600; n++) shop.send(air(n === 300 ? 35 : 20, 50, -3600 + n * 6));
    await expect.poll(async () => healthSchema.parse((await ask("/api/health")).body).intake.packsStored).toBe(600);
    const { body } = await ask(`/api/places/booth/climate?from=${from}&to=${new Date().toISOString()}&points=50`);
    const history = body as {
      at: string[];
      airC: { max: (number | null)[]; min: (number | null)[] };
      dewPointC: (number | null)[];
    };
    expect(history.at.length).toBeLessThanOrEqual(50);
    expect(Math.max(...history.airC.max.map((value) => value ?? 0))).toBe(35);
    expect(Math.min(...history.airC.min.map((value) => value ?? 99))).toBe(20);
    // 20 °C and 50 %: psychrolib gives 9.27 °C.
    expect(history.dewPointC.find((value) => value !== null)).toBeCloseTo(9.3, 1);
    expect(
      (await ask(`/api/places/booth/climate?from=${from}&to=${new Date().toISOString()}&points=2001`)).status,
    ).toBe(400);
  });

  it("describes itself in OpenAPI 3.1, from the schemas it checks by", async () => {
    const { body } = await ask("/api/openapi.json");
    const described = body as { openapi: string; paths: Record<string, Record<string, object>> };
    expect(described.openapi).toBe("3.1.0");
    expect(Object.keys(described.paths)).toContain("/api/cars/{car}/coats");
    expect(described.paths["/api/cars/{car}/coats"]?.post).toMatchObject({
      security: [{ session: [] }],
      parameters: [
        { name: "car", in: "path", required: true },
        { name: "language", in: "query" },
        { name: "Idempotency-Key", in: "header", required: false },
      ],
      requestBody: { content: { "application/json": { schema: { type: "object", required: ["panels", "sheet"] } } } },
    });
  });

  it("serves the wall of a place that exists, with a policy that forbids scripts from elsewhere", async () => {
    const response = await fetch(`${shop.base}/wall/booth`);
    expect(await response.text()).toContain("<title>wall</title>");
    expect(response.headers.get("content-security-policy")).toContain("default-src 'self'");
    expect((await fetch(`${shop.base}/wall/cellar`)).status).toBe(404);
    expect(await (await fetch(`${shop.base}/`)).text()).toContain("<title>cars</title>");
  });
});
