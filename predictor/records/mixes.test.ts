import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { exampleRecords, inventedSheet, painter } from "./example-records.ts";
import { program, type Records } from "./records.ts";

const clear = inventedSheet("demo-clear");
let records: Records;
beforeEach(() => {
  records = exampleRecords();
});
afterEach(() => records.close());

const aMix = { sheetId: "demo-clear", place: "mixing", mixedAtMs: 5000, litres: null, batches: [] };

describe("mixes", () => {
  it("are open from the mixing until they are emptied, oldest first", () => {
    const late = records.addMix(aMix, painter);
    const early = records.addMix(
      {
        ...aMix,
        sheetId: "demo-surfacer",
        mixedAtMs: 3000,
        litres: 0.8,
        batches: [{ component: "hardener", batch: "H-7" }],
      },
      painter,
    );
    expect(late).toEqual({ ...aMix, id: late.id, sheetRevision: clear.revision, who: painter.who, emptiedAtMs: null });
    expect(records.openMixes()).toEqual([early, late]);
    expect(records.emptyMix(early.id, 9000, painter)).toEqual({ ...early, emptiedAtMs: 9000 });
    expect(records.openMixes()).toEqual([late]);
  });

  it("rest on the newest revision of the sheet", () => {
    records.keepSheet({ ...clear, revision: clear.revision + 1, potLifeMinutesAt20C: 30 }, program);
    expect(records.addMix(aMix, painter).sheetRevision).toBe(clear.revision + 1);
  });

  it("refuse a sheet there is not, naming those there are, and a sheet without a pot life", () => {
    expect(() => records.addMix({ ...aMix, sheetId: "none" }, painter)).toThrow(
      /no sheet "none"; there are .*demo-clear/,
    );
    expect(() => records.addMix({ ...aMix, sheetId: "demo-pretreat" }, painter)).toThrow(
      /demo-pretreat gives no pot life/,
    );
    expect(records.openMixes()).toEqual([]);
  });

  it("refuse to be emptied twice, before they were mixed, and when there are none such", () => {
    const { id } = records.addMix(aMix, painter);
    expect(() => records.emptyMix(id, 4999, painter)).toThrow(/mixed at 1 Jan 1970 00:00; it can.t be emptied before/);
    records.emptyMix(id, 5000, painter);
    expect(() => records.emptyMix(id, 6000, painter)).toThrow(/emptied already/);
    expect(() => records.emptyMix("none", 6000, painter)).toThrow(/no mix none/);
  });

  it("are told to those who watch them, entered and emptied", () => {
    const told: (number | null)[] = [];
    const end = records.onMix((mix) => told.push(mix.emptiedAtMs));
    const { id } = records.addMix(aMix, painter);
    records.emptyMix(id, 7000, painter);
    end();
    records.addMix(aMix, painter);
    expect(told).toEqual([null, 7000]);
  });
});
