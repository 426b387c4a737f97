import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { foldedName, writtenName } from "./names.ts";

describe("a name", () => {
  it.each([
    ["JÜRGEN", "Jürgen"],
    ["Ju\u0308rgen", "Jürgen"],
    ["JU\u0308RGEN ", "jürgen"],
    ["GROSS", "Groß"],
    ["GROẞ", "Groß"],
    ["ΝΊΚΟΣ", "Νίκος"],
    ["ŽELJKO", "Željko"],
  ])("is the same as %s and as %s", (one, other) => {
    expect(foldedName(one)).toBe(foldedName(other));
  });

  it.each([
    ["Jürgen", "Jurgen"],
    ["Paul", "Paula"],
    ["Ann Marie", "Annmarie"],
  ])("is another one as %s and as %s", (one, other) => {
    expect(foldedName(one)).not.toBe(foldedName(other));
  });

  it("is kept with its capitals, its accents in one piece", () => {
    expect(writtenName(" Ju\u0308rgen ")).toBe("Jürgen");
  });

  it("folds to what folds to itself", () => {
    fc.assert(
      fc.property(fc.string({ unit: "grapheme" }), (name) => {
        expect(foldedName(foldedName(name))).toBe(foldedName(name));
      }),
    );
  });
});
