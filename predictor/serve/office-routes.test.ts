/** A head office of three invented shops: what it answers, as its shops told it. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { parse } from "csv-parse/sync";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { fillWithChecks } from "../../tests/checked-shop.ts";
import { askOffice, openOffice, type ServedOffice } from "../../tests/served-office.ts";
import { coatCourseSchema } from "./api.ts";
import {
  comparisonSchema,
  heldCoatFileSchema,
  heldShopsSchema,
  officeHealthSchema,
  officeLogSchema,
  officeSchema,
} from "./office-api.ts";
import { predictionsSchema } from "./prediction-api.ts";

const by = { who: "Quality N", role: "quality" } as const;
let office: ServedOffice;
beforeAll(async () => {
  office = await openOffice([
    {
      id: "north",
      name: "Invented north",
      fill: (shop) => {
        fillWithChecks(shop, 24);
        const [coat] = shop.records.coatsFinished(0, Date.now());
        if (coat === undefined) throw new Error("no coat");
        shop.records.answerDeviation(coat.id, "limits-not-judged", "measured by hand", by);
        shop.records.signOff(coat.id, "released for delivery", by);
        shop.records.issueCertificate(coat.carId, [coat.id], "ab".repeat(32), by);
      },
    },
    {
      id: "south",
      name: "Invented south",
      timeZone: "Europe/Lisbon",
      fill: (shop) => fillWithChecks(shop, 12, { seed: 3, factor: 1.3 }),
    },
    { id: "west", name: "West", isUnknown: true, state: { lastHeardMs: null } },
  ]);
}, 30_000);
afterAll(() => office?.close());

const get = async (path: string) => await askOffice(office, path);
const rowsOf = async (query: string) => officeLogSchema.parse((await get(`/api/log?${query}`)).body);
const aCoat = async (shop: string) => (await rowsOf(`shop=${shop}&order=up`)).rows[0] ?? expect.fail("no coat");

describe("the log of all shops", () => {
  it("names the shop of each coat, and narrows down to one", async () => {
    const all = await rowsOf("size=200");
    expect([all.total, new Set(all.rows.map(({ shop }) => shop.name))]).toEqual([
      36,
      new Set(["Invented north", "Invented south"]),
    ]);
    expect(all.rows[0]?.place?.name).toBe("Booth");
    expect(all.behind).toEqual([{ id: "west", name: "west", state: "waiting" }]);
    const south = await rowsOf("shop=south&size=200");
    expect(south.behind).toEqual([]);
    expect([south.total, south.rows.every(({ shop }) => shop.id === "south")]).toEqual([12, true]);
    expect((await rowsOf("shop=west")).total).toBe(0);
    expect((await rowsOf("shop=south&state=released")).total).toBe(0);
    expect((await rowsOf("state=released")).rows.map(({ shop }) => shop.id)).toEqual(["north"]);
    expect((await rowsOf("shop=east")).total).toBe(0);
  });

  it("sorts by shop", async () => {
    const order = async (way: string) =>
      (await rowsOf(`sort=shop&order=${way}&size=200`)).rows.map(({ shop }) => shop.id);
    const up = await order("up");
    expect(up).toEqual(up.toSorted());
    expect(await order("down")).toEqual(up.toReversed());
  });

  it("is to be had as a table with the shop in its first column", async () => {
    const { text, headers } = await get("/api/log.csv?sort=finished");
    expect(headers.get("content-disposition")).toContain("tested-group-log-");
    const rows = parse(text, { columns: true }) as Record<string, string>[];
    expect(Object.keys(rows[0] ?? {})[0]).toBe("shop");
    expect(rows.filter(({ shop, place }) => shop === "Invented south" && place === "Booth").length).toBe(12);
    expect((parse((await get("/api/log.csv?shop=north")).text, { columns: true }) as unknown[]).length).toBe(24);
  });
});

describe("one coat", () => {
  it("has the figures of its shop's book, the answers, the entries in words, the release and the digests", async () => {
    const row = await aCoat("north");
    const { status, body } = await get(`/api/shops/north/coats/${row.coat}/file`);
    expect(status).toBe(200);
    const file = heldCoatFileSchema.parse(body);
    const told = office.shops.book.row("north", row.coat)?.figures;
    expect(file.figures.gapMinutes).toBe(told?.gapMinutes);
    expect(file.figures.airC).toEqual(told?.airC);
    expect(file.figures.stages.map(({ safeAt }) => safeAt && Date.parse(safeAt))).toEqual(
      told?.stages.map(({ safeAtMs }) => safeAtMs),
    );
    expect(file.state).toBe("released");
    expect(file.verdict?.words).toBe("released for delivery");
    expect(file.deviations.find(({ code }) => code === "limits-not-judged")?.answers[0]?.answer).toBe(
      "measured by hand",
    );
    expect(file.certificates.map(({ digest }) => digest)).toEqual(["ab".repeat(32)]);
    expect(file.entries.some(({ text }) => text.includes("Booth"))).toBe(true);
    expect(file.coat.caution).toMatch(/isocyanate/i);
    expect(file.coat.bands.map(({ text }) => text)).toEqual(["Booth"]);
    expect(file.coat.prediction?.stages.every(({ state }) => ["ready", "not yet", "check first"].includes(state))).toBe(
      true,
    );
    expect(file.held).toMatchObject({
      name: "Invented north",
      state: "up-to-date",
      entries: office.shops.get("north")?.records.head()?.seq,
      fault: null,
    });
  });

  it("has the air of the held readings, and of nothing that only the shop works out", async () => {
    const { coat } = await aCoat("south");
    const course = coatCourseSchema.parse((await get(`/api/shops/south/coats/${coat}/course`)).body);
    const means = course.airC.mean.filter((value) => value !== null);
    expect(means.length).toBeGreaterThan(3);
    expect(means.every((value) => Math.abs(value - 20) < 0.1)).toBe(true);
    expect(course.curePercent.every((value) => value === null)).toBe(true);
  });

  it("is said to be of another shop, or without figures or entries, in words", async () => {
    const { coat } = await aCoat("north");
    expect((await get(`/api/shops/south/coats/${coat}/file`)).status).toBe(404);
    expect((await get(`/api/shops/east/coats/${coat}/file`)).status).toBe(404);
    const row = office.shops.book.row("north", coat) ?? expect.fail("no row");
    office.shops.book.put([{ ...row, coat: "told-only", isWithdrawn: true }]);
    expect(await get("/api/shops/north/coats/told-only/file")).toMatchObject({
      status: 404,
      body: { detail: expect.stringContaining("not its entries") },
    });
    office.shops.book.put([{ ...row, coat: "told-only", shop: "gone" }]);
    // Of a shop that the group file names no more, the figures are still shown.
    expect((await rowsOf("shop=gone")).rows.map(({ shop }) => shop.name)).toEqual(["gone"]);
    expect((await get("/api/shops/gone/coats/told-only/file")).status).toBe(404);
  });
});

describe("the statistics", () => {
  it("of one shop are those of its own page, by what is held", async () => {
    const { status, body } = await get("/api/shops/north/predictions");
    expect(status).toBe(200);
    const view = predictionsSchema.parse(body);
    expect(view.span.all.coats).toBe(24);
    expect(view.sheets[0]?.agreements[0]?.fit?.ratio).toBeGreaterThan(1);
    expect(view.sheets[0]?.learned.length).toBeGreaterThan(5);
    expect(view.energy).toBeNull();
    const table = await get("/api/shops/north/predictions.csv?table=pairs");
    expect((parse(table.text, { columns: true }) as unknown[]).length).toBe(view.sheets[0]?.pairs.length);
    expect((await get("/api/shops/north/predictions?place=nowhere")).status).toBe(404);
    expect((await get("/api/shops/north/predictions?from=2026-01-02T00:00:00Z&to=2026-01-01T00:00:00Z")).status).toBe(
      400,
    );
    expect((await get("/api/shops/west/predictions")).status).toBe(200);
  });

  it("of all stand a row a shop, and in all as of one shop", async () => {
    const view = comparisonSchema.parse((await get("/api/comparison")).body);
    const [north, south, west] = view.shops;
    expect([north?.span.coats, south?.span.coats, west?.span.coats]).toEqual([24, 12, 0]);
    expect(west).toMatchObject({
      state: "waiting",
      agreement: { between: 0, fit: null },
      atSafe: { checks: 0, found: null },
    });
    expect(south?.agreement.fit?.ratio).toBeGreaterThan(north?.agreement.fit?.ratio ?? Number.NaN);
    expect(view.all.span.coats).toBe(36);
    expect(view.all.span.dryingHours).toBeCloseTo((north?.span.dryingHours ?? 0) + (south?.span.dryingHours ?? 0), 6);
    expect(view.all.atSafe.checks).toBe((north?.atSafe.checks ?? 0) + (south?.atSafe.checks ?? 0));
    expect((await get("/api/comparison?sheet=demo-none")).status).toBe(404);
    const one = comparisonSchema.parse(
      (await get("/api/comparison?sheet=demo-clear&from=2026-01-01T00:00:00Z&to=2026-01-02T00:00:00Z")).body,
    );
    expect(one.all.span.coats).toBe(0);
  });
});

describe("the shops", () => {
  const states = async () =>
    Object.fromEntries(
      heldShopsSchema.parse((await get("/api/shops")).body).shops.map(({ id, ...held }) => [id, held]),
    );

  it("are told with how far each is held, and what is wrong with it", async () => {
    const { north, west } = await states();
    expect(north).toMatchObject({ state: "up-to-date", coats: expect.any(Number), name: "Invented north" });
    expect(Date.now() - Date.parse(north?.readingsUntil ?? "")).toBeLessThan(25 * 3_600_000);
    expect(west).toEqual({
      name: "West".toLowerCase(),
      invented: false,
      state: "waiting",
      lastHeardAt: null,
      entries: 0,
      lastEntryAt: null,
      readingsUntil: null,
      coats: 0,
      fault: null,
    });
    const fault = "entry 12: the entry before it is another";
    office.shops.tell("north", { lastHeardMs: Date.now() - 3_600_000 });
    office.shops.tell("south", { fault });
    expect(await states()).toMatchObject({ north: { state: "silent" }, south: { state: "doubtful", fault } });
    office.shops.tell("north", { lastHeardMs: null });
    expect(await states()).toMatchObject({ north: { state: "silent", lastHeardAt: null } });
    expect(officeHealthSchema.parse((await get("/api/health")).body)).toMatchObject({ state: "attention" });
  });

  it("are named to the pages with their places, zone and units", async () => {
    const view = officeSchema.parse((await get("/api/shop")).body);
    expect(view.shop).toMatchObject({ id: "tested-group", name: "Tested group", invented: true });
    expect(view.shops.map(({ id, timeZone, places }) => [id, timeZone, places.length])).toEqual([
      ["north", "Europe/Berlin", 2],
      ["south", "Europe/Lisbon", 2],
      ["west", "Europe/Berlin", 0],
    ]);
  });
});

it("changes nothing of what it holds while it is asked", async () => {
  const digests = () =>
    ["north", "south"].flatMap((shop) =>
      office.shops
        .files(shop)
        .flatMap((file) => [file, `${file}-wal`])
        .map((file) => createHash("sha256").update(readFileSync(file)).digest("hex")),
    );
  const before = digests();
  const { coat } = await aCoat("north");
  for (const path of ["/api/log", "/api/log.csv", "/api/shops", "/api/shop", "/api/comparison", "/api/health"])
    await get(path);
  for (const part of ["file", "course"]) await get(`/api/shops/north/coats/${coat}/${part}`);
  await get("/api/shops/north/predictions");
  expect(digests()).toEqual(before);
  expect(office.shops.get("north")?.records.head()?.seq).toBe(office.shops.get("north")?.state().recordsSeq);
});
