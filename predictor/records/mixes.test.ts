import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { inventedSheets } from "./library.ts";
import { Records } from "./records.ts";

let records: Records;
beforeEach(() => {
  records = new Records(":memory:");
  for (const sheet of inventedSheets()) records.keepSheet(sheet);
});
afterEach(() => records.close());

const aMix = { sheetId: "demo-clear", place: "mixing", mixedAtMs: 5000, who: null };

describe("mixes", () => {
  it("are open from the mixing until they are emptied, oldest first", () => {
    const late = records.addMix(aMix);
    const early = records.addMix({ ...aMix, sheetId: "demo-surfacer", mixedAtMs: 3000, who: "an invented painter" });
    expect(late).toEqual({ ...aMix, id: late.id, sheetRevision: 1, emptiedAtMs: null });
    expect(records.openMixes()).toEqual([early, late]);
    expect(records.emptyMix(early.id, 9000)).toEqual({ ...early, emptiedAtMs: 9000 });
    expect(records.openMixes()).toEqual([late]);
    expect(records.mix(early.id).emptiedAtMs).toBe(9000);
  });

  it("rest on the newest revision of the sheet", () => {
    const clear = inventedSheets().find((sheet) => sheet.id === "demo-clear");
    if (clear === undefined) throw new Error("no clear");
    records.keepSheet({ ...clear, revision: 2, potLifeMinutesAt20C: 30 });
    expect(records.addMix(aMix).sheetRevision).toBe(2);
  });

  it("refuse a sheet there is not, naming those there are, and a sheet without a pot life", () => {
    expect(() => records.addMix({ ...aMix, sheetId: "none" })).toThrow(/no sheet "none"; there are .*demo-clear/);
    expect(() => records.addMix({ ...aMix, sheetId: "demo-pretreat" })).toThrow(/demo-pretreat gives no pot life/);
    expect(records.openMixes()).toEqual([]);
  });

  it("refuse to be emptied twice, before they were mixed, and when there are none such", () => {
    const { id } = records.addMix(aMix);
    expect(() => records.emptyMix(id, 4999)).toThrow(/mixed at 1970-01-01T00:00:05\.000Z/);
    records.emptyMix(id, 5000);
    expect(() => records.emptyMix(id, 6000)).toThrow(/emptied already/);
    expect(() => records.emptyMix("none", 6000)).toThrow(/no mix none/);
  });

  it("are told to those who watch them, entered and emptied", () => {
    const told: (number | null)[] = [];
    const end = records.onMix((mix) => told.push(mix.emptiedAtMs));
    const { id } = records.addMix(aMix);
    records.emptyMix(id, 7000);
    end();
    records.addMix(aMix);
    expect(told).toEqual([null, 7000]);
  });
});
