import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import type { CoatNow } from "./coat-rules.ts";
import { Readiness } from "./readiness.ts";

const minuteMs = 60_000;
const coat = (stage: "sand" | "dust-free", likelyMinute: number, safeMinute: number): CoatNow => ({
  id: "c1",
  carId: "car1",
  name: text("coat.name", { car: "Van", panels: ["door"], kind: "surfacer" }),
  windows: [],
  stages: [
    {
      stage,
      curePercent: 48,
      reached: false,
      isCovered: true,
      likelyAtMs: likelyMinute * minuteMs,
      likelyMinutes: likelyMinute,
      safeAtMs: safeMinute * minuteMs,
      safeMinutes: safeMinute,
    },
  ],
  late: null,
  isWet: false,
  wetUntilMs: null,
  movedWetAtMs: null,
  promisedAtMs: null,
  slip: null,
});
/** What is told at each of these minutes. */
const told = (of: CoatNow, minutes: number[], readiness = new Readiness()) =>
  minutes.map((minute) => readiness.of(of, minute * minuteMs).map(({ text: said, urgency }) => [said.key, urgency]));

describe("a coat that becomes ready", () => {
  it("is told once when it is likely, and once when it is safe", () => {
    expect(told(coat("sand", 10, 20), [9, 10, 11, 20, 21])).toEqual([
      [],
      [["notice.likely", "today"]],
      [],
      [["notice.ready", "soon"]],
      [],
    ]);
  });

  it("is told when it is safe alone where that follows within minutes", () => {
    expect(told(coat("sand", 10, 13), [10, 13])).toEqual([[], [["notice.ready", "soon"]]]);
  });

  it("is no news after a start, nor for what no hand waits for", () => {
    expect(told(coat("sand", 10, 20), [40])).toEqual([[]]);
    expect(told(coat("dust-free", 10, 20), [10, 20])).toEqual([[], []]);
  });
});
