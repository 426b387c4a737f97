import { describe, expect, it } from "vitest";
import type { MixQuantity } from "../../../predictor/serve/work-api.ts";
import { type MixChoice, mixBody, mixQuestion, typed } from "./mix-entry.ts";

const choice: MixChoice = { sheetId: null, panels: [], areaM2: "", byArea: false, coats: "", filmUm: "" };
const quantity: MixQuantity = {
  areaM2: 2,
  coats: 2,
  dryFilmUm: 60,
  litres: 0.42,
  components: [
    { component: "paint", litres: 0.28 },
    { component: "hardener", litres: 0.14 },
  ],
  potLitres: 0.6,
  wipes: null,
  assumptions: [],
};

describe("a figure as typed", () => {
  it("takes a decimal comma and a decimal point, and nothing that is no amount", () => {
    expect(["1,5", "1.5", " 2 "].map(typed)).toEqual([1.5, 1.5, 2]);
    expect(["", "0", "-1", "two", "1e999"].map(typed)).toEqual([undefined, undefined, undefined, undefined, undefined]);
  });
});

describe("the question about amounts", () => {
  it("waits for panels or an area", () => {
    expect(mixQuestion("clear", choice)).toBeNull();
    expect(mixQuestion("clear", { ...choice, byArea: true, areaM2: "x" })).toBeNull();
    expect(mixQuestion("clear", { ...choice, byArea: true, areaM2: "2,5" })).toEqual({ sheet: "clear", areaM2: 2.5 });
  });

  it("leaves to the sheet what was not typed", () => {
    const asked = { ...choice, panels: ["bonnet"], coats: "3" };
    expect(mixQuestion("clear", asked)).toEqual({ sheet: "clear", panels: ["bonnet"], coats: 3 });
  });
});

describe("the entry of a mix", () => {
  const nowMs = Date.parse("2026-11-25T10:00:00Z");

  it("carries its own instant, the litres and the batches that were written", () => {
    expect(mixBody("clear", quantity, { paint: " L-77 ", hardener: "" }, nowMs)).toEqual({
      sheet: "clear",
      at: "2026-11-25T10:00:00.000Z",
      litres: 0.42,
      batches: [{ component: "paint", batch: "L-77" }],
    });
  });

  it("needs no amounts: the pot's clock is what counts", () => {
    expect(mixBody("clear", null, {}, nowMs)).toEqual({ sheet: "clear", at: "2026-11-25T10:00:00.000Z" });
  });
});
