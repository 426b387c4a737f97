import { afterEach, beforeEach, expect, it } from "vitest";
import { exampleRecords } from "./example-records.ts";
import { type InstrumentSetting, program, type Records } from "./records.ts";

const humidity = { collector: "pi", sensor: "air", quantity: "air-humidity" } as const;
const asItReads: InstrumentSetting = { slope: 1, offset: 0, calibrated: null, due: null, reference: null };
const compared = {
  ...asItReads,
  offset: -1.5,
  calibrated: "2026-03-02",
  due: "2027-03-02",
  reference: "REF-7 (invented)",
};

let nowMs: number;
let records: Records;
beforeEach(() => {
  nowMs = 1000;
  records = exampleRecords({ now: () => nowMs });
});
afterEach(() => records.close());

it("keeps every setting of a line with when it was entered, the one that holds last", () => {
  records.setInstrument(humidity, asItReads, program);
  records.setInstrument({ ...humidity, quantity: "air-temperature" }, asItReads, program);
  nowMs = 2000;
  records.setInstrument(humidity, compared, program);
  expect(records.instruments()).toEqual([
    {
      ...humidity,
      history: [
        { ...asItReads, setAtMs: 1000 },
        { ...compared, setAtMs: 2000 },
      ],
    },
    { ...humidity, quantity: "air-temperature", history: [{ ...asItReads, setAtMs: 1000 }] },
  ]);
});

it.each(["slope", "offset", "calibrated", "due", "reference"] as const)(
  "enters a line anew when its %s changed, and nothing when nothing did",
  (key) => {
    records.setInstrument(humidity, compared, program);
    const before = records.head()?.seq ?? 0;
    records.setInstrument(humidity, { ...compared }, program);
    expect(records.head()?.seq).toBe(before);
    const other = { ...asItReads, slope: 1.02 }[key];
    records.setInstrument(humidity, { ...compared, [key]: other }, program);
    expect(records.head()?.seq).toBe(before + 1);
    // Back to what it was: that is a change, too.
    records.setInstrument(humidity, compared, program);
    expect(records.instruments()[0]?.history).toHaveLength(3);
  },
);

it("refuses what is no correction", () => {
  expect(() => records.setInstrument(humidity, { ...asItReads, slope: 0 }, program)).toThrow();
  expect(() => records.setInstrument(humidity, { ...asItReads, offset: Number.NaN }, program)).toThrow();
  expect(() => records.setInstrument(humidity, { ...asItReads, due: "soon" }, program)).toThrow();
  expect(records.instruments()).toEqual([]);
});
