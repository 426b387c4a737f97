import { describe, expect, it } from "vitest";
import type { Climate, ClimateHistory, CoatCourse } from "../../predictor/serve/api.ts";
import { climateLines, pastLines, temperatureRange } from "./climate-lines.ts";
import { climateText } from "./climate-text.ts";
import { exampleClock } from "./example-words.ts";

const now = Date.UTC(2026, 2, 2, 8);
const iso = (ms: number) => new Date(ms).toISOString();
const figure = (value: number, ageSeconds: number) => ({
  value,
  at: iso(now - ageSeconds * 1000),
  sensor: "s1",
  currentForSeconds: 20,
});
const climate = (ageSeconds: number): Climate => ({
  airC: figure(20, ageSeconds),
  rhPercent: figure(50, ageSeconds),
  panelC: null,
  airSpeedMps: null,
  dewPointC: 9.3,
  dewMarginC: 10.7,
});
const line = (...mean: (number | null)[]) => ({ mean, min: mean, max: mean });
const history: ClimateHistory = {
  from: iso(now - 120_000),
  to: iso(now),
  bucketSeconds: 60,
  at: [iso(now - 120_000), iso(now - 60_000)],
  airC: line(0, null),
  rhPercent: line(40, null),
  panelC: line(null, null),
  dewPointC: [-12, null],
};

describe("climateLines", () => {
  it("draw of a coat's course its own panel and how far cured it was, and no live ends", () => {
    const course: CoatCourse = { ...history, followedPanelC: [19, 18], curePercent: [1, 5] };
    const lines = climateLines(pastLines(course, "C"), null, null, "C", now);
    expect(lines).toMatchObject({ panel: [19, 18], cured: [1, 5], air: [0, null] });
    expect(climateLines(pastLines(history, "C"), climate(1), null, "C", now).cured).toEqual([null]);
  });
  it("converts to the shop's unit, keeps gaps, and ends in the current figures", () => {
    const lines = climateLines(pastLines(history, "F"), climate(1), null, "F", now);
    expect(lines.atSeconds).toEqual([now / 1000 - 120, now / 1000 - 60, now / 1000]);
    expect(lines.air).toEqual([32, null, 68]);
    expect(lines.humidity).toEqual([40, null, 50]);
    expect(lines.panel).toEqual([null, null, null]);
    expect(lines.dewPoint[0]).toBeCloseTo(10.4, 10);
  });
  it("ends in a gap when the figures are too old", () => {
    const lines = climateLines(pastLines(history, "C"), climate(60), null, "C", now);
    expect([lines.air.at(-1), lines.humidity.at(-1), lines.dewPoint.at(-1)]).toEqual([null, null, null]);
  });
  it("never goes back in time when the history is ahead of now", () => {
    expect(climateLines(pastLines(history, "C"), climate(1), null, "C", now - 90_000).atSeconds).toHaveLength(2);
  });
  it("does not change the history it was given", () => {
    climateLines(pastLines(history, "C"), climate(1), null, "C", now);
    expect(history.rhPercent.mean).toHaveLength(2);
  });
});

const ahead = {
  at: [iso(now - 60_000), iso(now + 1_740_000), iso(now + 3_540_000)],
  airC: [20, 19, 18],
  coldC: [20, 18, 16],
  warmC: [20, 20, 21],
};

describe("the air expected", () => {
  it("opens out from the last measured value, and is on none of the measured lines", () => {
    const lines = climateLines(pastLines(history, "C"), climate(1), ahead, "C", now);
    expect(lines.atSeconds.map((seconds) => seconds - now / 1000)).toEqual([-120, -60, 0, 1740, 3540]);
    expect(lines.expected).toEqual([null, null, 20, 19, 18]);
    expect(lines.expectedCold).toEqual([null, null, 20, 18, 16]);
    expect(lines.expectedWarm).toEqual([null, null, 20, 20, 21]);
    for (const line of [lines.air, lines.airLeast, lines.airMost, lines.panel, lines.dewPoint, lines.humidity]) {
      expect(line).toHaveLength(5);
      expect(line.slice(3)).toEqual([null, null]);
    }
  });
  it("is in the shop's unit, and stands apart while no reading is current", () => {
    expect(climateLines(pastLines(history, "F"), climate(60), ahead, "F", now).expected).toEqual([
      null,
      null,
      null,
      66.2,
      64.4,
    ]);
  });
  it("is left out where all of it has passed", () => {
    expect(climateLines(pastLines(history, "C"), climate(1), ahead, "C", now + 7_200_000).expected).toEqual([]);
  });
  it("takes part in the range of the axis", () => {
    const lines = climateLines(
      pastLines({ ...history, dewPointC: [null, null] }, "C"),
      { ...climate(1), dewPointC: null },
      ahead,
      "C",
      now,
    );
    expect(temperatureRange(lines, now / 1000 - 70, now / 1000 + 3600, 8).min).toBeLessThan(16);
  });
});

describe("climateText", () => {
  const scale = { fromMs: now - 120_000, toMs: now + 3_600_000, ticksMs: [] };
  const text = (hours: typeof ahead | null) =>
    climateText(climateLines(pastLines(history, "C"), climate(1), hours, "C", now), "C", scale, exampleClock());
  it("gives the spread of what was measured, and tells the expected air with its band apart", () => {
    expect(text(ahead)).toBe(
      "Since 07:58: air 0.0 to 20.0 °C, panel not known, dew point −12.0 to 9.3 °C, humidity 40.0 to 50.0 %. " +
        "Expected until 09:00: air 18.0 to 20.0 °C, eight times in ten within 16.0 to 21.0 °C.",
    );
  });
  it("expects nothing where nothing is to be expected", () => {
    expect(text(null)).not.toContain("Expected");
  });
});

describe("temperatureRange", () => {
  const rangeOf = (...air: (number | null)[]) => {
    const lines = climateLines(
      pastLines({ ...history, airC: line(...air), dewPointC: [null, null] }, "C"),
      climate(60),
      null,
      "C",
      now,
    );
    return temperatureRange(lines, now / 1000 - 130, now / 1000, 4);
  };
  it("holds every value on the axis with room to spare, and starts and ends on a tick", () => {
    const range = rangeOf(18.2, 22.7);
    expect(range.min).toBeLessThan(18.2);
    expect(range.max).toBeGreaterThan(22.7);
    expect(range.ticks[0]).toBe(range.min);
    expect(range.ticks.at(-1)).toBe(range.max);
  });
  it("does not blow a steady temperature up", () => {
    const range = rangeOf(20, 20.05);
    expect(range.max - range.min).toBeGreaterThanOrEqual(2);
  });
  it("leaves out values before the axis and stands without any value", () => {
    const lines = climateLines(pastLines({ ...history, airC: line(90, 20) }, "C"), climate(60), null, "C", now);
    expect(temperatureRange(lines, now / 1000 - 70, now / 1000, 4).max).toBeLessThan(30);
    expect(rangeOf(null, null)).toMatchObject({ min: 5, max: 35 });
  });
});
