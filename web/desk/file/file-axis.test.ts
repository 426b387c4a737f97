import { describe, expect, it } from "vitest";
import type { CoatFile, FiguresView } from "../../../predictor/serve/proof-api.ts";
import { wordsOf } from "../../../words/words.ts";
import { exampleCoat, exampleStage, minutes } from "../../parts/example-coat.ts";
import { shopClock } from "../../parts/shop-clock.ts";
import { shareOf } from "../../parts/time-scale.ts";
import { clockAxis, sinceFinish, sinceFinishAxis, spanMs, spanWords } from "./file-axis.ts";

const words = wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });
const clock = shopClock("Etc/UTC", words);
const minuteMs = 60_000;
const iso = (after: number) => new Date(minutes(after)).toISOString();

/** Safe to sand after 128 minutes, full cure days later; checked at `checks`. */
function fileWith(part: Partial<FiguresView>, checks: number[] = []): CoatFile {
  const coat = exampleCoat("a", [
    exampleStage("sand", "ready", 110, 128),
    exampleStage("full-cure", "not yet", 3000, 3900),
  ]);
  coat.checks = checks.map((after) => ({
    id: `c${after}`,
    stage: "sand",
    at: iso(after),
    ready: true,
    how: "nail",
    who: "Ada",
    note: null,
    withdrawn: null,
  }));
  const stage = (name: "sand" | "full-cure", safe: number) =>
    ({ stage: name, likelyAt: iso(safe - 9), safeAt: iso(safe), readyCheckedAt: null, notYetCheckedAt: null }) as const;
  return {
    coat,
    state: "ready",
    figures: {
      releaseStage: "sand",
      until: iso(128),
      isOver: true,
      airC: null,
      panelC: null,
      rhPercent: null,
      dewMarginC: null,
      gapMinutes: 0,
      stages: [stage("sand", 128), stage("full-cure", 3900)],
      coveredAt: null,
      waitedMinutes: null,
      ...part,
    },
    deviations: [],
    verdict: null,
    notYet: null,
    entries: [],
    warnings: [],
    certificates: [],
    head: { seq: 1, hash: "00" },
  };
}

describe("what there is to see of a coat", () => {
  it("ends with the time that counts, and is not squeezed by a stage that is days away", () => {
    expect(spanMs(fileWith({}), minutes(9000)) / minuteMs).toBe(128);
  });

  it("holds a check soon after it, and not one of the next day", () => {
    expect(spanMs(fileWith({}, [160, 1600]), minutes(9000)) / minuteMs).toBe(160);
  });

  it("goes on to what is safe soon while it dries, and is never shorter than half an hour", () => {
    expect(spanMs(fileWith({ until: iso(60), isOver: false }), minutes(60)) / minuteMs).toBe(128);
    expect(spanMs(fileWith({ until: iso(2), stages: [] }), minutes(9000)) / minuteMs).toBe(30);
  });

  it("stands on the shop's clock from the finish on", () => {
    const axis = clockAxis(fileWith({}), clock, minutes(9000), 8);
    expect(shareOf(axis, minutes(0))).toBeGreaterThan(0);
    expect(shareOf(axis, minutes(128))).toBeLessThan(1);
    expect(axis.ticksMs.map(clock.time)).toContain("08:30");
  });
});

describe("the time since the finish", () => {
  it("is one axis for each coat of the same span", () => {
    const [one, other] = [minutes(7), minutes(12_345)].map((finishedMs) => {
      const axis = sinceFinishAxis(finishedMs, 128 * minuteMs, 8);
      return [axis.fromMs, axis.toMs, ...axis.ticksMs].map((ms) => ms - finishedMs);
    });
    expect(one).toEqual(other);
    expect(one).toContain(0);
  });

  it("is written in hours and minutes, before the finish with a minus", () => {
    const written = [-15, 0, 45, 60, 95.4, 3900].map((after) => spanWords(after * minuteMs, words));
    expect(written).toEqual(["−15 min", "0 min", "45 min", "1 h", "1 h 35 min", "65 h"]);
    expect(sinceFinish(clock, minutes(30)).time(minutes(95))).toBe("1 h 5 min");
  });
});
