import { parse } from "csv-parse/sync";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { air, ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import type { PredictionsView } from "./prediction-api.ts";

const minute = 60_000;
const energy = `,
  outdoorPlace: yard,
  energy: { currency: EUR, heat: { pricePerKWh: 0.1, co2KgPerKWh: 0.2, source: Invented tariff, year: 2026 },
            electricity: { pricePerKWh: 0.3, co2KgPerKWh: 0.4, source: Invented tariff, year: 2026 }, burnerEfficiency: 0.9,
            airHandling: { booth: { bakeM3PerHour: 10000, recirculatedPercent: 80, flashOffM3PerHour: 1000, fansKW: 5 } } }`;

const by = { who: "Painter A", role: "painter" } as const;
let shop: ServedShop;
let finishedMs = 0;
const instant = (minutes: number) => new Date(finishedMs + minutes * minute).toISOString();

beforeAll(async () => {
  shop = await openShop(energy);
  const now = Date.now();
  finishedMs = now - 300 * minute;
  for (let minutes = -310; minutes <= 0; minutes += 5) {
    shop.send([
      { bt: now / 1000 },
      ...air(20, 50, minutes * 60),
      { bn: "pi/yard/", n: "air-temperature", u: "Cel", t: minutes * 60, v: 5 },
    ]);
  }
  const car = shop.records.addCar(
    {
      job: "1",
      name: "Invented",
      place: "booth",
      atMs: finishedMs - minute,
      panels: [{ name: "door", substrate: "steel" }],
    },
    by,
  );
  const [coat] = shop.records.addCoats(
    car.id,
    {
      panels: ["door"],
      sheetId: "demo-clear",
      finishedAtMs: finishedMs,
      filmUm: null,
      panelAtFinishC: null,
      batches: [],
      sprayCheck: null,
    },
    by,
  );
  const check = (stage: "dust-free" | "sand" | "polish", minutes: number, ready: boolean, likely: number | null) => {
    const told =
      likely === null
        ? null
        : { likelyAtMs: finishedMs + likely * minute, safeAtMs: finishedMs + 1.2 * likely * minute };
    shop.records.addCheck(
      { coatId: coat?.id ?? "", stage, atMs: finishedMs + minutes * minute, ready, how: "thumb", told },
      by,
    );
  };
  check("dust-free", 20, false, 25);
  check("dust-free", 30, true, 26);
  check("polish", 250, false, null);
});
afterAll(() => shop.close());

const predictions = async (query = "") => (await ask(shop, `/api/predictions${query}`)).body as PredictionsView;

describe("GET /api/predictions", () => {
  it("tells each stage that was checked, between its checks, by what was told at the first of them", async () => {
    const { sheets } = await predictions();
    expect(sheets.map(({ sheet }) => [sheet.id, sheet.revision])).toEqual([["demo-clear", 2]]);
    const [between, untold] = sheets[0]?.pairs ?? [];
    expect(between).toMatchObject({
      stage: "dust-free",
      kind: "between",
      place: { id: "booth", name: "Booth" },
      notYetAt: instant(20),
      readyAt: instant(30),
      toldLikelyAt: instant(25),
      lnLow: Math.log(20 / 25),
      lnHigh: Math.log(30 / 25),
      isTold: true,
    });
    expect(untold).toMatchObject({ stage: "polish", kind: "not-yet-only", lnLow: null, lnHigh: null, isTold: false });
    expect(sheets[0]?.agreements).toEqual([
      { place: null, between: 1, readyOnly: 0, notYetOnly: 0, untold: 1, fit: null },
    ]);
    expect(sheets[0]?.control).toMatchObject({ points: [{ range: null, outside: null }], limits: null });
  });
  it("says how the lesson grew with the checks", async () => {
    const { sheets } = await predictions();
    const lesson = (
      (await ask(shop, "/api/lessons")).body as { lessons: { sheet: string; checks: number }[] }
    ).lessons.find(({ sheet }) => sheet === "demo-clear");
    expect(sheets[0]?.learned.length).toBe(lesson?.checks);
    for (const { low, timeFactor, high } of sheets[0]?.learned ?? [])
      expect([low < timeFactor, timeFactor < high]).toEqual([true, true]);
  });
  it("gives counts and no share of a few checks", async () => {
    const { calibration, fewest } = await predictions();
    expect(calibration.atSafe).toMatchObject({ checks: 0, ready: 0, found: null, told: null });
    expect(calibration.bands.reduce((sum, { checks }) => sum + checks, 0)).toBe(1);
    expect(calibration.untold).toBe(1);
    expect(fewest.checks).toBeGreaterThan(1);
  });
  it("sums up the coats and what drying in air took, with each assumption and source", async () => {
    const { span, energy: saved } = await predictions();
    expect(span.all).toMatchObject({ coats: 1, windowsMissed: 0, coveredEarly: 0 });
    expect(span.rows).toMatchObject([{ sheet: { id: "demo-clear" }, place: { id: "booth" }, coats: 1 }]);
    expect(saved).toMatchObject({ currency: "EUR", dryings: 1, coats: 1, baked: 0, unknown: 0 });
    // 2,000 m³/h of fresh air from 5 to 60 °C for 40 minutes, and the drying's own from 5 to 20 °C.
    expect(saved?.bakes.heatKWh).toBeCloseTo((((1.202 * 1.005) / 3600) * 2000 * 55 * 40) / 60, 6);
    expect(saved?.drying.heatKWh).toBeCloseTo(((1.202 * 1.005) / 3600) * 1000 * 15 * (span.all.dryingHours ?? 0), 3);
    expect(saved?.assumptions.join(" ")).toMatch(/60 °C for 30 min.*Invented tariff, 2026/);
  });
  it("asks by sheet, place and days", async () => {
    expect((await predictions("?sheet=demo-surfacer")).sheets).toEqual([]);
    expect((await predictions("?place=yard")).span.all.coats).toBe(0);
    expect((await predictions(`?to=${instant(0)}`)).sheets).toEqual([]);
    expect((await predictions(`?from=${instant(0)}`)).sheets).toHaveLength(1);
  });
  it("speaks the reader's language", async () => {
    expect((await predictions("?language=de")).energy?.assumptions[0]).toContain("Ofengang");
  });
  it.each([
    ["?place=attic", 404, "attic"],
    ["?sheet=none", 404, "none"],
    ["?from=yesterday", 400, "from"],
    ["?from=2026-02-01T00:00:00Z&to=2026-01-01T00:00:00Z", 400, "before"],
  ])("names what is wrong with %s", async (query, status, named) => {
    const answer = await ask(shop, `/api/predictions${query}`);
    expect(answer.status).toBe(status);
    expect((answer.body as { detail: string }).detail).toContain(named);
  });
});

describe("GET /api/predictions.csv", () => {
  const table = async (query = "") => {
    const response = await fetch(`${shop.base}/api/predictions.csv${query}`);
    return {
      type: response.headers.get("content-type"),
      rows: parse(await response.text(), { columns: true }) as Record<string, string>[],
    };
  };
  it("gives the pairs, with empty cells for what is not known", async () => {
    const { type, rows } = await table();
    expect(type).toMatch(/^text\/csv/);
    expect(rows).toHaveLength(2);
    expect(rows[0]).toMatchObject({
      sheet: "demo-clear",
      stage: "dust-free",
      kind: "between",
      place: "booth",
      not_yet_at: instant(20),
      ready_at: instant(30),
    });
    expect(Number(rows[0]?.ln_low)).toBeCloseTo(Math.log(0.8), 12);
    expect(rows[1]).toMatchObject({ kind: "not-yet-only", ln_low: "", told_likely_at: "" });
  });
  it.each([["learned"], ["calibration"], ["control"], ["coats"]])("gives the table of %s", async (name) => {
    expect((await table(`?table=${name}`)).rows.length).toBeGreaterThan(0);
  });
  it("is described as CSV", async () => {
    const api = (await (await fetch(`${shop.base}/api/openapi.json`)).json()) as {
      paths: Record<string, { get: { responses: Record<string, { content: object }> } }>;
    };
    expect(Object.keys(api.paths["/api/predictions.csv"]?.get.responses["200"]?.content ?? {})).toEqual(["text/csv"]);
  });
});

it("says nothing of energy where the shop file does not", async () => {
  const other = await openShop();
  expect(((await ask(other, "/api/predictions")).body as PredictionsView).energy).toBeNull();
  await other.close();
});
