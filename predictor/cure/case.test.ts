import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { runCase } from "./case.ts";

const sound = {
  sheet: {
    id: "invented",
    revision: 1,
    name: "Invented",
    kind: "clearcoat",
    film: { dryUm: 50 },
    stages: [{ stage: "demask", minutesAtC: { "20": 30 } }],
  },
  coat: { finishedAt: "2026-02-04T08:30:00+01:00", substrate: "steel" },
  readings: [
    { at: "2026-02-04T07:30:00Z", airC: 20, rhPercent: 50, panelC: 20 },
    { at: "2026-02-04T07:40:00Z", airC: 20, rhPercent: 50, panelC: 20 },
  ],
};
const pathsOf = (input: unknown) => {
  const answer = runCase(input);
  return "faults" in answer ? answer.faults.map((fault) => fault.path) : [];
};

describe("a case", () => {
  it("is answered as of its last reading, with instants in UTC", () => {
    expect(runCase(sound)).toMatchObject({
      result: {
        asOf: "2026-02-04T07:40:00.000Z",
        equivalentMinutes: 10,
        stages: [
          { stage: "demask", reached: false, likelyAt: "2026-02-04T08:00:00.000Z", likelyMinutes: 30 },
          { stage: "full-cure" },
        ],
        notes: [],
      },
    });
  });
  it("takes a missing panel as null or as nothing, and says that it was estimated", () => {
    const without = (panelC?: null) => ({
      ...sound,
      readings: sound.readings.map(({ panelC: _, ...rest }) => ({ ...rest, ...(panelC === null ? { panelC } : {}) })),
    });
    expect(runCase(without(null))).toEqual(runCase(without()));
    expect(runCase(without())).toMatchObject({ result: { notes: [{ code: "panel-estimated" }] } });
  });
  it("may have no readings where it says as of when, and then has no prediction", () => {
    const asOf = "2026-02-04T09:00:00Z";
    expect(runCase({ ...sound, readings: [], asOf })).toMatchObject({
      result: { asOf: "2026-02-04T09:00:00.000Z", curePercent: null, notes: [{ code: "no-readings" }] },
    });
  });
  it("has null times where there is no prediction, and still a result", () => {
    const late = { ...sound, readings: [{ at: "2026-02-04T09:30:00Z", airC: 20, rhPercent: 50 }] };
    expect(runCase(late)).toMatchObject({
      result: {
        curePercent: null,
        stages: [{ likelyAt: null, safeMinutes: null }, {}],
        notes: [{ code: "no-readings" }],
      },
    });
  });
  it("goes along what lay ahead where the case says it, and is refused where that comes before its readings", () => {
    const reading = (at: string, panelC: number) => ({ at, airC: panelC, rhPercent: 50, panelC });
    const likely = [reading("2026-02-04T07:45:00Z", 40), reading("2026-02-04T12:00:00Z", 40)];
    const minutes = (input: object) => {
      const answer = runCase(input);
      return "faults" in answer ? Number.NaN : (answer.result.stages[0]?.likelyMinutes ?? Number.NaN);
    };
    expect(minutes({ ...sound, ahead: { likely } })).toBeLessThan(minutes(sound));
    const early = [reading("2026-02-04T07:35:00Z", 40)];
    expect(pathsOf({ ...sound, ahead: { likely, cold: early } })).toEqual(["ahead.cold.0.at"]);
  });
  it("has the same answer whatever the time zone its instants are written in", () => {
    const written = (iso: string, hours: number) =>
      `${new Date(Date.parse(iso) + hours * 3_600_000).toISOString().slice(0, -1)}${hours < 0 ? "-" : "+"}${String(Math.abs(hours)).padStart(2, "0")}:00`;
    fc.assert(
      fc.property(fc.integer({ min: -12, max: 14 }), (hours) => {
        const elsewhere = {
          ...sound,
          coat: { ...sound.coat, finishedAt: written(sound.coat.finishedAt, hours) },
          readings: sound.readings.map((reading) => ({ ...reading, at: written(reading.at, hours) })),
        };
        expect(runCase(elsewhere)).toEqual(runCase(sound));
      }),
    );
  });
  it("is refused with all its faults at once, those of the sheet's sense among them", () => {
    const broken = {
      ...sound,
      sheet: { ...sound.sheet, stages: [...sound.sheet.stages, { stage: "polish", minutesAtC: { "20": 20 } }] },
      coat: { ...sound.coat, substrate: "wood", colour: "red" },
      readings: [{ at: "yesterday", airC: 20, rhPercent: 120 }],
    };
    expect(pathsOf(broken).sort()).toEqual([
      "coat.colour",
      "coat.substrate",
      "readings.0.at",
      "readings.0.rhPercent",
      "sheet.stages.1.minutesAtC",
    ]);
  });
  it("is refused where readings are out of order, missing, or the whole is no object", () => {
    expect(pathsOf({ ...sound, readings: [...sound.readings].reverse() })).toEqual(["readings.1.at"]);
    expect(pathsOf({ ...sound, readings: [] })).toEqual(["readings"]);
    for (const nothing of [null, undefined, 5, "case", []]) expect(pathsOf(nothing)).not.toEqual([]);
  });
});
