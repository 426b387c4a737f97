import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { Follow } from "../follow/follow.ts";
import { Intake } from "../readings/intake.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import { inventedSheets } from "../records/library.ts";
import { Records } from "../records/records.ts";
import { readShopFile } from "../shop-file.ts";
import { Warnings } from "../warnings/warnings.ts";
import { wordsOf } from "../words.ts";
import { carsSchema, placeViewSchema, problemSchema } from "./api.ts";
import { healthSchema } from "./health.ts";
import { type Server, startServer } from "./server.ts";
import { Views } from "./views.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-serve-"));
let shop: Awaited<ReturnType<typeof openShop>>;

beforeEach(async () => {
  shop = await openShop();
});
afterEach(async () => {
  await shop.close();
  rmSync(folder, { recursive: true, force: true });
});

/** A whole predictor but for the broker: packs are handed to the intake as the link would. */
async function openShop() {
  mkdirSync(folder, { recursive: true });
  const file = join(folder, "shop.yaml");
  writeFileSync(
    file,
    `{ shop: tested, name: Tested shop, timeZone: Europe/Berlin,
       places: { booth: { name: Booth, kind: booth, sheets: [demo-clear], sensors: { air-temperature: pi/air, air-humidity: pi/air } },
                 yard: { name: Yard, kind: yard, sensors: { air-temperature: pi/yard } } },
       collectors: { pi: { elsewhere: true, sensors: [air, yard] } } }`,
  );
  const shopFile = readShopFile(file);
  const logger = pino({ level: "silent" });
  const now = Date.now;
  const words = wordsOf(shopFile);
  const records = new Records(":memory:");
  for (const sheet of inventedSheets()) records.keepSheet(sheet);
  const store = openSqliteStore(":memory:");
  const follow = new Follow({ store, records, places: shopFile.places, now, logger });
  await follow.start();
  const warnings = new Warnings({ shopFile, follow, records, now, words });
  const intake = new Intake({
    store,
    now,
    logger,
    onCommitted: (fresh) => follow.committed(fresh),
    sendReceipt: () => undefined,
  });
  const pages = join(folder, "pages");
  mkdirSync(join(pages, "assets"), { recursive: true });
  writeFileSync(join(pages, "index.html"), "<title>cars</title>");
  writeFileSync(join(pages, "wall.html"), "<title>wall</title>");
  const server: Server = await startServer({
    shopFile,
    store,
    records,
    follow,
    now,
    logger,
    views: new Views({ shopFile, follow, records, warnings, now, words }),
    link: {
      connected: () => true,
      collectors: () => new Map(),
      sendReceipt: () => undefined,
      retain: () => undefined,
      stop: async () => undefined,
    },
    version: "0.0.0-test",
    startedAtMs: now(),
    port: 0,
    pagesFolder: pages,
    brokerUrl: "mqtt://none",
    intakeState: () => intake.state(),
    clockState: () => "synchronised",
  });
  const base = `http://127.0.0.1:${server.port}`;
  return {
    base,
    server,
    warnings,
    send: (pack: object[]) => intake.accept(topicsOf("tested").readings("pi"), Buffer.from(JSON.stringify(pack))),
    sendRaw: (text: string) => intake.accept(topicsOf("tested").readings("pi"), Buffer.from(text)),
    async close() {
      await server.stop();
      await intake.stop();
      await follow.stop();
      await store.close();
      records.close();
    },
  };
}

const air = (v: number, rh: number, t = 0) => [
  { bn: "pi/air/", t, n: "air-humidity", u: "%RH", v: rh },
  { n: "air-temperature", u: "Cel", t, v },
];

async function ask(
  path: string,
  body?: unknown,
  method = body === undefined ? "GET" : "POST",
  headers: Record<string, string> = {},
) {
  const response = await fetch(shop.base + path, {
    method,
    headers: { ...(body === undefined ? {} : { "content-type": "application/json" }), ...headers },
    ...(body === undefined ? {} : { body: typeof body === "string" ? body : JSON.stringify(body) }),
  });
  return { status: response.status, headers: response.headers, body: (await response.json()) as unknown };
}

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
    const { body: kept } = await ask(`/api/coats/${coat?.id}/corrections`);
    expect(kept).toMatchObject({
      corrections: [{ reason: "entered late", field: "finishedAt", was: coat?.finishedAt, became: finishedAt }],
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
      /ahead of this machine's clock/,
    ],
    ["a panel named twice", "/api/cars", { ...aCar, panels: [{ name: "roof" }, { name: "roof" }] }, 409, /named twice/],
  ])("answers %s with problem details", async (_name, path, body, status, detail) => {
    const answer = await ask(path, body);
    expect(answer.status).toBe(status);
    expect(answer.headers.get("content-type")).toContain("application/problem+json");
    expect(problemSchema.parse(answer.body)).toMatchObject({ status, detail: expect.stringMatching(detail) });
  });

  it("names every field that does not fit", async () => {
    const { status, body } = await ask("/api/cars", { job: "", name: 7, place: "booth", panels: [], colour: "red" });
    expect(status).toBe(400);
    expect(problemSchema.parse(body).faults?.map((fault) => fault.path)).toEqual([
      "body.job",
      "body.name",
      "body.panels",
      "body.colour",
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
      parameters: [{ name: "car", in: "path", required: true }],
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

describe("the event stream", () => {
  it("greets with its version and the view, sends a reading at once and the new view after it", async () => {
    const events = listen("/api/stream?place=booth");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "place"]);
    shop.send(air(19.5, 48));
    await expect.poll(() => events.names().slice(3)).toEqual(["reading", "reading", "place"]);
    expect(events.last("reading")).toMatchObject({ place: "booth", quantity: "air-temperature", value: 19.5 });
    expect(placeViewSchema.parse(events.last("place")).climate.airC?.value).toBe(19.5);
    events.close();
    await expect.poll(() => shop.server.stream.subscribers).toBe(0);
  });

  it("sends nothing to those who watch another place", async () => {
    const events = listen("/api/stream?place=yard");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "place"]);
    shop.send(air(19.5, 48));
    await new Promise((resolve) => setTimeout(resolve, 400));
    expect(events.names()).toEqual(["hello", "beat", "place"]);
    events.close();
  });

  it("tells the list of cars anew when one came", async () => {
    const events = listen("/api/stream");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "cars"]);
    await takeInCar();
    await expect
      .poll(() => carsSchema.parse(events.last("cars")).cars.map((car) => car.job), { timeout: 3000 })
      .toEqual(["J-7"]);
    events.close();
  });
});

/** Reads an event stream by its own few rules: lines `event:` and `data:`, a blank line between events. */
function listen(path: string) {
  const ending = new AbortController();
  const events: { event: string; data: unknown }[] = [];
  const read = async () => {
    const response = await fetch(shop.base + path, { signal: ending.signal });
    let text = "";
    for await (const chunk of response.body ?? []) {
      text += Buffer.from(chunk as Uint8Array).toString("utf8");
      const parts = text.split("\n\n");
      text = parts.pop() ?? "";
      for (const part of parts) {
        const [event = "", data = ""] = part.split("\n");
        events.push({ event: event.replace("event: ", ""), data: JSON.parse(data.replace("data: ", "")) });
      }
    }
  };
  read().catch(() => undefined);
  return {
    names: () => events.map((each) => each.event),
    last: (event: string) => events.findLast((each) => each.event === event)?.data,
    close: () => ending.abort(),
  };
}
