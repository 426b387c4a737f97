import fc from "fast-check";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Quantity } from "../../collector/readings.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import { type ReadingStore, StoreAway, type StoredReading } from "../readings/store.ts";
import { exampleRecords, painter, plainCoat } from "../records/example-records.ts";
import type { Car, Coat, Records } from "../records/records.ts";
import { Follow } from "./follow.ts";
import { FollowedCoat } from "./followed-coat.ts";
import type { Places } from "./place-history.ts";

const minute = 60_000;
const t0 = Date.parse("2026-03-02T08:00:00Z");
const place = (collector: string, withPanel: boolean): Places[string] => ({
  name: collector,
  kind: "booth",
  sensors: {
    "air-temperature": `${collector}/air`,
    "air-humidity": `${collector}/air`,
    ...(withPanel ? { "panel-temperature": `${collector}/panel` } : {}),
  },
});
const places: Places = { booth: place("booth", true), workshop: place("workshop", false) };

let store: ReadingStore;
let records: Records;
let follow: Follow;
let nowMs: number;

beforeEach(() => {
  store = openSqliteStore(":memory:");
  records = exampleRecords();
  nowMs = t0;
  follow = newFollow();
});
afterEach(async () => {
  await follow.stop();
  await store.close();
  records.close();
});

function newFollow(): Follow {
  return new Follow({
    store,
    records,
    shopFile: { places, outdoorPlace: undefined, energy: undefined, learning: { off: [], earlierThanSheet: [] } },
    offsetMs: () => 0,
    now: () => nowMs,
    logger: pino({ level: "silent" }),
  });
}

function reading(where: string, quantity: Quantity, atMs: number, value: number): StoredReading {
  return { collector: where, sensor: quantity === "panel-temperature" ? "panel" : "air", quantity, atMs, value };
}

function climateAt(where: string, atMs: number, airC: number, rhPercent = 50): StoredReading[] {
  return [
    reading(where, "air-humidity", atMs, rhPercent),
    reading(where, "air-temperature", atMs, airC),
    ...(where === "booth" ? [reading(where, "panel-temperature", atMs, airC - 0.4)] : []),
  ];
}

async function commit(readings: StoredReading[]): Promise<void> {
  follow.committed(await store.append(readings));
}

function aCar(atMs = t0 - minute): Car {
  const panels = [{ name: "bonnet", substrate: "steel" } as const, { name: "bumper", substrate: "plastic" } as const];
  return records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs }, painter);
}

function aCoat(car: Car, finishedAtMs = t0, panel = "bonnet"): Coat {
  const coat = { ...plainCoat, panels: [panel], finishedAtMs };
  return records.addCoats(car.id, coat, painter)[0] as Coat;
}

/** The same coat followed from the store by itself: what a fresh start would say. */
async function fromScratch(coatId: string, at = nowMs) {
  const coat = records.coat(coatId);
  const followed = new FollowedCoat(coat, records.car(coat.carId), records.sheet(coat.sheetId, coat.sheetRevision));
  await followed.rebuild(store, places, {});
  return followed.outcome(at);
}

describe("following coats", () => {
  it("moves a coat on with each committed reading, to what a fresh start makes of the same readings", async () => {
    await follow.start();
    const coat = aCoat(aCar());
    for (let n = -2; n <= 40; n++) await commit(climateAt("booth", t0 + n * minute, 20 + n / 20));
    nowMs = t0 + 40 * minute;
    const [state] = follow.coatsAt("booth");
    expect(state?.lastReadingAtMs).toBe(t0 + 40 * minute);
    expect(state?.outcome.curePercent).toBeGreaterThan(45);
    expect(state?.outcomeUnder(nowMs)).toEqual(await fromScratch(coat.id));
  });

  it("makes a coat anew when a store that was away is there again", async () => {
    await follow.start();
    const away = vi.spyOn(store, "range").mockRejectedValue(new StoreAway("away"));
    const coat = aCoat(aCar());
    await commit(climateAt("booth", t0, 20));
    await settled();
    expect(follow.coatsAt("booth")[0]?.isPending).toBe(true);
    away.mockRestore();
    await commit(climateAt("booth", t0 + minute, 20));
    await settled();
    nowMs = t0 + minute;
    const [state] = follow.coatsAt("booth");
    expect(state?.isPending).toBe(false);
    expect(state?.outcomeUnder(nowMs)).toEqual(await fromScratch(coat.id));
  });

  it("takes readings that come late, from the instant they tell of", async () => {
    await follow.start();
    const coat = aCoat(aCar());
    await commit(climateAt("booth", t0, 20));
    await commit(climateAt("booth", t0 + 30 * minute, 20));
    await settled();
    const bridged = follow.coatsAt("booth")[0]?.outcome;
    expect(bridged?.notes.map((note) => note.code)).toContain("gap");
    await commit([5, 10, 15, 20, 25].flatMap((n) => climateAt("booth", t0 + n * minute, 30)));
    await settled();
    nowMs = t0 + 30 * minute;
    const after = follow.coatsAt("booth")[0]?.outcomeUnder(nowMs);
    expect(after?.notes.map((note) => note.code)).not.toContain("gap");
    expect(after).toEqual(await fromScratch(coat.id));
  });

  it("follows the car to another place, where the panel keeps its temperature at first", async () => {
    await follow.start();
    const car = aCar();
    const coat = aCoat(car);
    for (let n = 0; n <= 20; n++)
      await commit([...climateAt("booth", t0 + n * minute, 22), ...climateAt("workshop", t0 + n * minute, 10)]);
    records.addMove(car.id, "workshop", t0 + 20 * minute + 30_000, painter);
    await settled();
    nowMs = t0 + 20 * minute + 31_000;
    const [atMove] = follow.coatsAt("workshop");
    expect(follow.coatsAt("booth")).toEqual([]);
    expect(atMove?.outcome.panelC).toBeCloseTo(21.6, 0);
    for (let n = 21; n <= 60; n++) await commit(climateAt("workshop", t0 + n * minute, 10));
    nowMs = t0 + 60 * minute;
    const [later] = follow.coatsAt("workshop");
    expect(later?.outcome.panelC).toBeCloseTo(10, 1);
    expect(later?.outcomeUnder(nowMs)).toEqual(await fromScratch(coat.id));
  });

  it("takes readings that come in order, but of a place that the car has left since", async () => {
    await follow.start();
    const car = aCar();
    const coat = aCoat(car);
    records.addMove(car.id, "workshop", t0 + 20 * minute, painter);
    await settled();
    nowMs = t0 + 40 * minute;
    for (let n = 0; n <= 40; n++) await commit(climateAt("booth", t0 + n * minute, 22));
    for (let n = 0; n <= 40; n++) await commit(climateAt("workshop", t0 + n * minute, 12));
    await settled();
    const [state] = follow.coatsAt("workshop");
    expect(state?.outcome.curePercent).toBeGreaterThan(30);
    expect(state?.outcomeUnder(nowMs)).toEqual(await fromScratch(coat.id));
  });

  it("makes the coat anew when its finish is corrected", async () => {
    await follow.start();
    const coat = aCoat(aCar(t0 - 60 * minute));
    for (let n = -20; n <= 20; n++) await commit(climateAt("booth", t0 + n * minute, 21));
    nowMs = t0 + 20 * minute;
    const before = follow.coatsAt("booth")[0]?.outcome.equivalentMinutes ?? 0;
    records.correctCoat(coat.id, { reason: "entered late", finishedAtMs: t0 - 15 * minute }, painter);
    await settled();
    const after = follow.coatsAt("booth")[0]?.outcomeUnder(nowMs);
    expect(after?.equivalentMinutes).toBeGreaterThan(before + 14);
    expect(after).toEqual(await fromScratch(coat.id));
  });

  it("shows a coat no more once another lies on all its panels, but still knows it", async () => {
    await follow.start();
    const car = aCar();
    const first = aCoat(car);
    const second = aCoat(car, t0 + 10 * minute);
    expect(follow.coatsAt("booth").map((state) => state.coat.id)).toEqual([second.id]);
    expect((await follow.coat(first.id)).covered).toBe(true);
  });

  it("goes on after a restart as if there had been none", async () => {
    await follow.start();
    const coat = aCoat(aCar());
    for (let n = 0; n <= 10; n++) await commit(climateAt("booth", t0 + n * minute, 21));
    await follow.stop();
    follow = newFollow();
    await follow.start();
    expect(follow.coatsAt("booth")[0]?.isPending).toBe(true);
    await settled();
    expect(follow.coatsAt("booth")[0]?.isPending).toBe(false);
    for (let n = 11; n <= 30; n++) await commit(climateAt("booth", t0 + n * minute, 19));
    nowMs = t0 + 30 * minute;
    expect(follow.current("booth", "air-temperature")).toMatchObject({ value: 19, cadenceMs: minute });
    expect(follow.coatsAt("booth")[0]?.outcomeUnder(nowMs)).toEqual(await fromScratch(coat.id));
  });

  it("gives no prediction, and says why, while no reading tells of the finish", async () => {
    await follow.start();
    aCoat(aCar());
    await commit(climateAt("booth", t0 + 30 * minute, 20));
    const [state] = follow.coatsAt("booth");
    expect(state?.outcome.curePercent).toBeNull();
    expect(state?.outcome.notes[0]?.code).toBe("no-readings");
  });

  it.each([
    ["can be no measurement", { value: 127.94 }],
    ["are marked bad", { value: 31, mark: { quality: "bad", why: "spike" } } as const],
  ])("leaves readings that %s out of the model", async (_, of) => {
    await follow.start();
    const coat = aCoat(aCar());
    for (let n = 0; n <= 10; n++) await commit(climateAt("booth", t0 + n * minute, 20));
    nowMs = t0 + 10 * minute;
    const before = follow.coatsAt("booth")[0]?.outcome;
    await commit([{ ...reading("booth", "air-temperature", t0 + 10 * minute + 1000, 0), ...of }]);
    await settled();
    expect(follow.coatsAt("booth")[0]?.outcome).toEqual(before);
    expect(follow.current("booth", "air-temperature")?.value).toBe(20);
    expect(await fromScratch(coat.id)).toEqual(follow.coatsAt("booth")[0]?.outcomeUnder(nowMs));
  });

  it("changes nothing when the car is entered as moved to the place where it stands", async () => {
    await follow.start();
    const car = aCar();
    const coat = aCoat(car);
    for (let n = -1; n <= 12; n++) await commit(climateAt("booth", t0 + n * minute, 20 + n));
    nowMs = t0 + 12 * minute;
    await settled();
    const before = follow.coatsAt("booth")[0]?.outcomeUnder(nowMs);
    records.addMove(car.id, "booth", t0 + 5 * minute, painter);
    await settled();
    expect(follow.coatsAt("booth")[0]?.outcomeUnder(nowMs)).toEqual(before);
    expect(await fromScratch(coat.id)).toEqual(before);
  });

  it("goes on along the hours ahead of the place: later where nights are cold, and safe further off", async () => {
    for (let hours = -72; hours <= 0; hours += 0.5) {
      const airC = 14 + 6 * Math.cos((2 * Math.PI * hours) / 24);
      await store.append(climateAt("booth", t0 + hours * 60 * minute, airC));
    }
    await follow.start();
    aCoat(aCar());
    await settled();
    const [state] = follow.coatsAt("booth");
    const held = state?.outcomeUnder(nowMs).stages.at(-1);
    const ahead = state?.outcome.stages.at(-1);
    expect(follow.outlook("booth")?.hours.find((hour) => hour.atMs === t0 + 12 * 60 * minute)?.airC).toBeLessThan(12);
    expect(ahead?.likelyMinutes).toBeGreaterThan((held?.likelyMinutes ?? Number.NaN) * 1.05);
    expect(ahead?.isCovered).toBe(false);
  });

  it("learns from checks: a shop that finds coats ready late gets later times, until the check is withdrawn", async () => {
    const coat = await aCoatOf40Minutes();
    const likely = () => follow.coatsAt("booth")[0]?.outcome.stages[1]?.likelyMinutes ?? Number.NaN;
    const byTheSheet = likely();
    const entry = { coatId: coat.id, stage: "demask" as const, how: "thumb" as const };
    const check = records.addCheck({ ...entry, ready: false, atMs: t0 + 36 * minute }, painter);
    await settled();
    expect(likely()).toBeGreaterThan(byTheSheet * 1.05);
    const sheet = records.sheet(coat.sheetId, coat.sheetRevision);
    expect((await follow.lesson(sheet)).lesson).toMatchObject({ checks: 1 });
    records.addCheck({ ...entry, ready: true, atMs: t0 + 2 * minute }, painter);
    await settled();
    expect((await follow.lesson(sheet)).lesson).toMatchObject({ checks: 1 });
    records.withdrawCheck(check.id, "mistap", painter);
    await settled();
    expect(likely()).toBe(byTheSheet);
  });

  it("counts a check that is entered while the sheet's checks are being learned from", async () => {
    const coat = await aCoatOf40Minutes();
    const entry = { coatId: coat.id, stage: "demask" as const, how: "thumb" as const };
    records.addCheck({ ...entry, ready: false, atMs: t0 + 30 * minute }, painter);
    const sheet = records.sheet(coat.sheetId, coat.sheetRevision);
    const learning = follow.lesson(sheet);
    records.addCheck({ ...entry, ready: true, atMs: t0 + 38 * minute }, painter);
    await learning;
    await settled();
    expect((await follow.lesson(sheet)).lesson.checks).toBe(2);
  });

  it("arrives at the same, whatever the order in which readings, moves and the coat come", async () => {
    const moments = Array.from({ length: 12 }, (_, n) => n);
    const orders = fc.oneof(fc.constant(moments), fc.shuffledSubarray(moments, { minLength: 12 }));
    const step = fc.integer({ min: 0, max: 12 });
    const pauses = fc.array(fc.boolean(), { minLength: 13, maxLength: 13 });
    await fc.assert(
      fc.asyncProperty(orders, step, step, pauses, async (order, coatAfter, moveAfter, pausesAfter) => {
        store = openSqliteStore(":memory:");
        records = exampleRecords();
        follow = newFollow();
        await follow.start();
        const car = aCar();
        let coat: Coat | null = null;
        for (const [index, n] of [...order, 12].entries()) {
          if (index === coatAfter) coat = aCoat(car, t0 + 90_000, "bumper");
          if (index === moveAfter) records.addMove(car.id, "workshop", t0 + 6 * minute + 20_000, painter);
          await commit(climateAt("booth", t0 + n * minute, 20 + n));
          if (pausesAfter[index]) await settled();
          await commit(climateAt("workshop", t0 + n * minute + 15_000, 12 - n / 2));
        }
        await settled();
        nowMs = t0 + 13 * minute;
        const live = follow.coatsAt("workshop")[0]?.outcomeUnder(nowMs);
        expect(live?.curePercent).toBeGreaterThan(0);
        expect(live).toEqual(await fromScratch(coat?.id ?? ""));
      }),
      { numRuns: 60 },
    );
  });
});

/** Rebuilding takes a turn of the event loop for each coat. */
async function settled(): Promise<void> {
  for (let turn = 0; turn < 20; turn++) await new Promise((resolve) => setImmediate(resolve));
}

/** Finished at t0, at 20 °C ever since. */
async function aCoatOf40Minutes(): Promise<Coat> {
  await follow.start();
  const car = aCar();
  for (let n = 0; n <= 40; n++) await commit(climateAt("booth", t0 + n * minute, 20));
  const coat = aCoat(car);
  nowMs = t0 + 40 * minute;
  await settled();
  return coat;
}
