import { createHash } from "node:crypto";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import Database from "better-sqlite3";
import { parse } from "csv-parse/sync";
import { afterEach, beforeEach, expect, it } from "vitest";
import { resolveSenml } from "../readings/senml.ts";
import { openSqliteSource, openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore, Series } from "../readings/store.ts";
import { painter, plainCoat } from "../records/example-records.ts";
import { inventedSheets, readSheetFile } from "../records/library.ts";
import { program, Records } from "../records/records.ts";
import { exportAll } from "./export.ts";

const air: Series = { collector: "pi", sensor: "mast", quantity: "air-temperature" };
const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;
const t0 = Date.parse("2026-03-02T00:00:00Z");

let base: string;
let records: Records;
let store: ReadingStore;
beforeEach(() => {
  base = mkdtempSync(join(tmpdir(), "coatclock-export-"));
  records = new Records({ file: join(base, "records.db"), now: () => t0, clock: () => "synchronised" });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  store = openSqliteStore(join(base, "readings.db"));
});
afterEach(async () => {
  await store.close();
  records.close();
  rmSync(base, { recursive: true, force: true });
});

const out = (...path: string[]) => join(base, "out", ...path);
const read = (...path: string[]) => readFileSync(out(...path), "utf8");
const table = (...path: string[]) => parse(read(...path), { columns: true }) as Record<string, string>[];
const always = { fromMs: Number.NEGATIVE_INFINITY, toMs: Number.POSITIVE_INFINITY };
async function exportIt(span = always) {
  const source = openSqliteSource(join(base, "readings.db"));
  try {
    return await exportAll({ recordsFile: join(base, "records.db"), source, folder: out(), ...span });
  } finally {
    await source.close();
  }
}

function aCoat() {
  const panels = [
    { name: "bonnet", substrate: "steel" as const },
    { name: "left, upper", substrate: "steel" as const },
  ];
  const car = records.addCar({ job: "=HYPERLINK(1)", name: "Grey van", panels, place: "booth", atMs: t0 }, painter);
  const entered = { ...plainCoat, panels: ["bonnet", "left, upper"], finishedAtMs: t0 + minuteMs, filmUm: 50 };
  const [coat] = records.addCoats(car.id, entered, painter);
  const check = {
    coatId: coat?.id ?? "",
    stage: "demask",
    atMs: t0 + 2 * minuteMs,
    ready: false,
    how: "thumb",
  } as const;
  const { id } = records.addCheck(check, painter);
  records.withdrawCheck(id, "a slip", painter);
  return { car, coat };
}

it("writes each entry of the log on a line, by the bytes that its hash was made from", async () => {
  aCoat();
  const { records: counts } = await exportIt();
  const lines = read("records/log.jsonl").trimEnd().split("\n");
  expect(lines).toHaveLength(counts.entries);
  let previous = "0".repeat(64);
  for (const line of lines) {
    const [, hash = "", entry = ""] = /^\{"hash":"([0-9a-f]{64})","entry":(.*)\}$/.exec(line) ?? [];
    expect(createHash("sha256").update(entry).digest("hex")).toBe(hash);
    expect(JSON.parse(line).entry.previous).toBe(previous);
    previous = hash;
  }
  expect(previous).toBe(records.head()?.hash);
});

it("writes what the records say as tables, with instants in ISO form and without formulas", async () => {
  const { car, coat } = aCoat();
  const { records: counts } = await exportIt();
  expect(counts.rows).toEqual({
    "cars.csv": 1,
    "panels.csv": 2,
    "moves.csv": 1,
    "coats.csv": 1,
    "checks.csv": 1,
    "mixes.csv": 0,
    "sign-offs.csv": 0,
  });
  expect(table("records/cars.csv")).toEqual([
    { id: car.id, job: "'=HYPERLINK(1)", name: "Grey van", colour: "", promised_at: "" },
  ]);
  expect(table("records/coats.csv")).toMatchObject([
    { id: coat?.id, panels: "bonnet; left, upper", finished_at: "2026-03-02T00:01:00.000Z", film_um: "50" },
  ]);
  expect(table("records/checks.csv")).toMatchObject([
    { ready: "not yet", at: "2026-03-02T00:02:00.000Z", withdrawn_because: "a slip" },
  ]);
  expect(read("records/mixes.csv")).toMatch(/^id,sheet_id,.*\r\n$/);
});

it("writes the sheets so that a shop file can name them", async () => {
  await exportIt();
  expect(readSheetFile(out("records/sheets.yaml"))).toEqual(inventedSheets());
});

it("writes the readings of each series and day as SenML, and as CSV", async () => {
  const cold = { ...air, atMs: t0, value: -3.5 };
  const spike = { ...air, atMs: t0 + 1, value: 60, mark: { quality: "bad", why: "spike" } } as const;
  const dayAfterNext = { ...air, atMs: t0 + 2 * dayMs, value: 20 };
  const evening = { ...air, atMs: t0 + 20 * 60 * minuteMs, value: 9 };
  await store.append([cold, spike, evening, dayAfterNext]);
  const { readings } = await exportIt();
  expect(readings).toEqual({ series: 1, readings: 4, fiveMinutes: 3 });
  const folder = "readings/pi/mast/air-temperature";
  const packs = readdirSync(out(folder)).filter((name) => name.endsWith(".gz"));
  expect(packs).toEqual(["2026-03-02.senml.json.gz", "2026-03-04.senml.json.gz"]);
  const pack = gunzipSync(readFileSync(out(folder, packs[0] ?? ""))).toString();
  expect(resolveSenml(JSON.parse(pack), null)).toEqual([
    { n: "pi/mast/air-temperature", u: "Cel", t: t0 / 1000, v: -3.5 },
    { n: "pi/mast/air-temperature", u: "Cel", t: (t0 + 1) / 1000, v: 60, quality: "bad", why: "spike" },
    { n: "pi/mast/air-temperature", u: "Cel", t: evening.atMs / 1000, v: 9 },
  ]);
  expect(read(folder, "readings.csv")).toBe(
    [
      "at,air_c,quality,why",
      "2026-03-02T00:00:00.000Z,-3.5,,",
      "2026-03-02T00:00:00.001Z,60,bad,spike",
      "2026-03-02T20:00:00.000Z,9,,",
      "2026-03-04T00:00:00.000Z,20,,",
      "",
    ].join("\r\n"),
  );
});

it("writes means that stand for readings among the five minutes only", async () => {
  await store.append(Array.from({ length: 10 }, (_, n) => ({ ...air, atMs: t0 + n * minuteMs, value: 20 })));
  await store.rollUp(t0 + 5 * minuteMs);
  const { readings } = await exportIt();
  expect(readings).toEqual({ series: 1, readings: 5, fiveMinutes: 2 });
  expect(table("readings/pi/mast/air-temperature/five-minutes.csv")).toEqual(
    ["00", "05"].map((minute) => ({
      start_at: `2026-03-02T00:${minute}:00.000Z`,
      count: "5",
      min_air_c: "20",
      mean_air_c: "20",
      max_air_c: "20",
    })),
  );
});

it("keeps to the span that is asked for, in the readings", async () => {
  await store.append([0, 1, 2, 3].map((day) => ({ ...air, atMs: t0 + day * dayMs, value: day })));
  await store.append([{ ...air, sensor: "other", atMs: t0, value: 1 }]);
  const { readings } = await exportIt({ fromMs: t0 + dayMs, toMs: t0 + 3 * dayMs });
  expect(readings).toEqual({ series: 1, readings: 2, fiveMinutes: 2 });
  expect(existsSync(out("readings/pi/other"))).toBe(false);
});

it("names the file that is damaged or of another version, and what to do", async () => {
  records.close();
  const other = new Database(join(base, "records.db"));
  other.pragma("user_version = 77");
  other.close();
  await expect(exportIt()).rejects.toThrow(/records\.db can't be exported: .* start Coatclock with it once/);
  writeFileSync(join(base, "records.db"), "no database at all".repeat(100));
  await expect(exportIt()).rejects.toThrow(/records\.db can't be exported/);
  records = new Records({ file: ":memory:", now: () => t0, clock: () => "synchronised" });
});
