import { describe, expect, it } from "vitest";
import type { LimitView } from "../../predictor/serve/api.ts";
import { wordsOf } from "../../words/words.ts";
import { limitWords } from "./limit-words.ts";

const inShop = (temperature: "C" | "F", language: "en" | "de" = "en") =>
  wordsOf({ language, timeZone: "UTC", units: { temperature, clock: "24h" } });
const limit = (part: Partial<LimitView>): LimitView => ({
  what: "air temperature",
  value: 18,
  min: 15,
  max: 30,
  margin: 3,
  state: "inside",
  source: "sheet",
  sensor: "pi/air",
  readingAt: "2026-11-25T10:00:00Z",
  ...part,
});

describe("a limit in words", () => {
  it("gives value, bounds and margin in the shop's unit", () => {
    expect(limitWords(limit({}), inShop("C"))).toMatchObject({
      value: "18 °C",
      bounds: "15 °C to 30 °C",
      margin: "3 °C inside",
    });
    expect(limitWords(limit({}), inShop("F"))).toMatchObject({
      value: "64.4 °F",
      bounds: "59 °F to 86 °F",
      margin: "5.4 °F inside",
    });
  });

  it("says how far outside", () => {
    const damp = limit({ what: "humidity", value: 82, min: null, max: 75, margin: -7, state: "outside" });
    expect(limitWords(damp, inShop("C", "de"))).toMatchObject({
      value: "82 %",
      bounds: "höchstens 75 %",
      margin: "7 % außerhalb",
    });
  });

  it("says that nothing is measured, and that the sheet sets no bound", () => {
    const unknown = limit({ what: "panel temperature", value: null, margin: null, state: "not measured" });
    expect(limitWords(unknown, inShop("C"))).toMatchObject({ value: "–", margin: "not measured" });
    const free = limit({ min: null, max: null, margin: null });
    expect(limitWords(free, inShop("C"))).toMatchObject({ value: "18 °C", bounds: "no limit", margin: "" });
  });
});
