import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore, Series } from "../readings/store.ts";
import { exampleRecords, painter, plainCoat } from "../records/example-records.ts";
import type { Car, Records } from "../records/records.ts";
import { Follow } from "./follow.ts";
import { Keeping } from "./keeping.ts";
import type { Places } from "./place-history.ts";

const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;
const t0 = Date.parse("2026-03-02T08:00:00Z");
const air: Series = { collector: "booth", sensor: "air", quantity: "air-temperature" };
const places: Places = { booth: { name: "Booth", kind: "booth", sensors: { "air-temperature": "booth/air" } } };

let store: ReadingStore;
let records: Records;
let follow: Follow;
let keeping: Keeping;
let nowMs: number;
let isClockBelieved: boolean;

beforeEach(async () => {
  store = openSqliteStore(":memory:");
  records = exampleRecords();
  isClockBelieved = true;
});
afterEach(async () => {
  await keeping.stop();
  await follow.stop();
  await store.close();
  records.close();
});

/** A reading every five minutes for so many days up to now. */
async function airFor(days: number, airC: number): Promise<void> {
  nowMs = t0 + days * dayMs;
  const count = (days * dayMs) / (5 * minuteMs);
  await store.append(
    Array.from({ length: count + 1 }, (_, n) => ({ ...air, atMs: t0 + n * 5 * minuteMs, value: airC })),
  );
}

function aCar(): Car {
  const panels = [{ name: "bonnet", substrate: "steel" as const }];
  return records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs: t0 }, painter);
}

async function keepFor(keepRawDays: number): Promise<void> {
  const logger = pino({ level: "silent" });
  const shopFile = { places, outdoorPlace: undefined, energy: undefined, learning: { off: [], earlierThanSheet: [] } };
  const now = () => nowMs;
  follow = new Follow({ store, records, shopFile, offsetMs: () => 0, now, logger });
  await follow.start();
  for (const car of records.carsHere()) for (const { coat } of follow.coatsOf(car.id)) await follow.coat(coat.id);
  const parts = { store, records, follow, keepRawDays, now, logger, isClockBelieved: () => isClockBelieved };
  keeping = new Keeping(parts);
  keeping.start();
  await keeping.done();
}

/** From when on readings themselves are there, in days after t0. */
async function keptFromDay(): Promise<number> {
  const samples = await store.range(air, t0 - dayMs, nowMs + 1);
  const first = samples.find(({ meanOverMs }) => meanOverMs === undefined);
  return ((first?.atMs ?? Number.NaN) - t0) / dayMs;
}

describe("keeping readings for a term", () => {
  it("rolls up what is older than the term, and nothing else", async () => {
    await airFor(20, 20);
    await keepFor(7);
    expect(await keptFromDay()).toBe(13);
    const all = await store.thin(air, { fromMs: t0, toMs: nowMs, bucketMs: dayMs });
    expect(all.map(({ count, mean }) => [count, mean])).toEqual(Array.from({ length: 20 }, () => [288, 20]));
  });

  it("keeps all that a coat rests on which is in the shop and not fully cured, with the coats below it", async () => {
    await airFor(20, 2);
    const car = aCar();
    records.addCoats(car.id, { ...plainCoat, finishedAtMs: t0 + 3 * dayMs }, painter);
    records.addCoats(car.id, { ...plainCoat, finishedAtMs: t0 + 19 * dayMs }, painter);
    await keepFor(7);
    expect(await keptFromDay()).toBe(3 - 10 / (24 * 60));
  });

  it("keeps no longer what a coat rests on that is fully cured, or whose car has left", async () => {
    await airFor(20, 25);
    const cured = aCar();
    records.addCoats(cured.id, { ...plainCoat, finishedAtMs: t0 + dayMs }, painter);
    const left = aCar();
    records.addCoats(left.id, { ...plainCoat, finishedAtMs: t0 + 2 * dayMs }, painter);
    records.addMove(left.id, null, t0 + 2.001 * dayMs, painter);
    await keepFor(7);
    expect(await keptFromDay()).toBe(13);
  });

  it("takes nothing away by a clock that is not believed", async () => {
    await airFor(20, 20);
    isClockBelieved = false;
    await keepFor(7);
    expect(await keptFromDay()).toBe(0);
  });

  it("shows a coat whose readings are gone, nearly as it was, and says by what", async () => {
    await airFor(20, 20);
    const car = aCar();
    const [coat] = records.addCoats(car.id, { ...plainCoat, finishedAtMs: t0 + dayMs }, painter);
    records.addMove(car.id, null, t0 + 3 * dayMs, painter);
    await keepFor(99);
    const before = (await follow.coat(coat?.id ?? "")).outcome;
    await keeping.stop();
    await follow.stop();
    await keepFor(7);
    const after = (await follow.coat(coat?.id ?? "")).outcome;
    expect(before.notes.map(({ code }) => code)).not.toContain("from-means");
    expect(after.notes.map(({ code }) => code)).toContain("from-means");
    expect(before.curePercent).toBeGreaterThan(50);
    expect(after.curePercent).toBeCloseTo(before.curePercent ?? Number.NaN, 6);
  });
});
