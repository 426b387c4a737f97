import { pino } from "pino";
import { afterEach, beforeEach, expect, it } from "vitest";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore } from "../readings/store.ts";
import { exampleRecords, painter } from "../records/example-records.ts";
import type { Records } from "../records/records.ts";
import type { Change } from "./follow.ts";
import { Pots } from "./pots.ts";

const minute = 60_000;
const mixedAtMs = Date.UTC(2026, 2, 2, 8);
const places = { mixing: { name: "Mixing room", kind: "mixing" as const, sensors: { "air-temperature": "pi/air" } } };
const airAt = (minutes: number, value: number) => ({
  collector: "pi",
  sensor: "air",
  quantity: "air-temperature" as const,
  atMs: mixedAtMs + minutes * minute,
  value,
});

let store: ReadingStore;
let records: Records;
let pots: Pots;
let tell: (change: Change) => void = () => undefined;

beforeEach(() => {
  store = openSqliteStore(":memory:");
  records = exampleRecords();
  pots = new Pots({
    store,
    records,
    places,
    follow: {
      onChange: (listener) => {
        tell = listener;
        return () => undefined;
      },
      outlook: () => null,
    },
    now: () => mixedAtMs + 20 * minute,
    logger: pino({ level: "silent" }),
  });
});
afterEach(async () => {
  pots.stop();
  await store.close();
  records.close();
});

const mix = () =>
  records.addMix({ sheetId: "demo-clear", place: "mixing", mixedAtMs, litres: null, batches: [] }, painter);

it("a pot's life runs with the air of where it stands, and goes on with the readings that come", async () => {
  await store.append([airAt(0, 20), airAt(10, 20)]);
  mix();
  await pots.start();
  const before = pots.at("mixing")[0]?.life.endsAtMs ?? Number.NaN;
  // The invented clear's pot life is 45 min at 20 °C.
  expect(before).toBeCloseTo(mixedAtMs + 45 * minute, -3);
  tell({ places: new Set(["mixing"]), readings: [{ ...airAt(15, 30), place: "mixing", sensor: "pi/air" }] });
  expect(pots.at("mixing")[0]?.life.endsAtMs).toBeLessThan(before - 5 * minute);
});
it("values that can be no measurement, or are marked bad, have no part in a pot's life", async () => {
  const bad = { ...airAt(7, 60), mark: { quality: "bad", why: "stuck" } } as const;
  await store.append([airAt(0, 20), airAt(5, -999), airAt(6, 127.94), bad, airAt(10, 20)]);
  mix();
  await pots.start();
  expect(pots.at("mixing")[0]?.life.endsAtMs).toBeCloseTo(mixedAtMs + 45 * minute, -3);
});
it("is the concern of the places that spray its paint, until it is emptied", async () => {
  const { id } = mix();
  await pots.start();
  expect(pots.at("mixing")).toMatchObject([{ state: "unknown" }]);
  expect(pots.at("booth")).toEqual([]);
  records.emptyMix(id, mixedAtMs + 10 * minute, painter);
  expect(pots.at("mixing")).toEqual([]);
});
