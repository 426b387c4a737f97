import { describe, expect, it } from "vitest";
import { Occurrences } from "./occurrences.ts";

const at = (key: string, since = "08:00") => ({ key, since });

describe("Occurrences", () => {
  it("calls a thing new once, however often it is told", () => {
    const occurrences = new Occurrences();
    expect([1, 2, 3].map(() => occurrences.areNew([at("humidity")]))).toEqual([true, false, false]);
  });

  it("calls it new again when it was gone and began anew, and not when the same one comes back", () => {
    const occurrences = new Occurrences();
    occurrences.areNew([at("humidity")]);
    occurrences.areNew([]);
    expect(occurrences.areNew([at("humidity", "08:00")])).toBe(false);
    occurrences.areNew([]);
    expect(occurrences.areNew([at("humidity", "09:00")])).toBe(true);
  });

  it("is not taken in by another beginning of what never was gone: a predictor that started anew", () => {
    const occurrences = new Occurrences();
    occurrences.areNew([at("humidity", "08:00")]);
    expect(occurrences.areNew([at("humidity", "08:30")])).toBe(false);
    occurrences.areNew([]);
    expect(occurrences.areNew([at("humidity", "08:30")])).toBe(false);
  });

  it("finds the one new thing among those told before", () => {
    const occurrences = new Occurrences();
    occurrences.areNew([at("a"), at("b")]);
    expect(occurrences.areNew([at("b"), at("c"), at("a")])).toBe(true);
  });

  it("remembers a thousand; what is true now is not forgotten before what has passed", () => {
    const occurrences = new Occurrences();
    occurrences.areNew([at("first"), at("stays")]);
    for (let n = 0; n < 1_500; n += 1) occurrences.areNew([at(`passing ${n}`), at("stays")]);
    expect(occurrences.areNew([at("stays")])).toBe(false);
    occurrences.areNew([]);
    expect(occurrences.areNew([at("stays")])).toBe(false);
    expect(occurrences.areNew([at("first")])).toBe(true);
  });
});
