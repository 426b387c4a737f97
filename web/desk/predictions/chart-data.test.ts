import { describe, expect, it } from "vitest";
import type { SheetPredictionsView } from "../../../predictor/serve/prediction-api.ts";
import { exampleClock } from "../../parts/example-words.ts";
import { controlChartData, deviationAxis, pairsChart, percentOf, timeAxis } from "./chart-data.ts";

const clock = exampleClock("en", "Europe/Berlin");
const { words } = clock;
const drawing = { clock, timeZone: "Europe/Berlin" };
const at = (minutes: number) => new Date(Date.UTC(2026, 10, 2, 8, minutes)).toISOString();

type Pair = SheetPredictionsView["pairs"][number];
const pair = (kind: Pair["kind"], lnLow: number | null, lnHigh: number | null, isTold = true): Pair => ({
  coat: "c",
  place: null,
  stage: "sand",
  kind,
  notYetAt: kind === "ready-only" ? null : at(10),
  readyAt: kind === "not-yet-only" ? null : at(20),
  toldLikelyAt: at(15),
  toldSafeAt: at(25),
  lnLow,
  lnHigh,
  isTold,
});
const sheet = (more: Partial<SheetPredictionsView>): SheetPredictionsView => ({
  sheet: { id: "s", revision: 1, name: "Invented", invented: true },
  isLearningOff: false,
  pairs: [],
  agreements: [],
  learned: [],
  control: { points: [], limits: null },
  ...more,
});

describe("pairsChart", () => {
  it("draws a bar for both bounds, an open end for none, and nothing where nothing was told", () => {
    const pairs = [
      pair("between", -0.1, 0.1),
      pair("ready-only", null, 0.05),
      pair("not-yet-only", 0.2, null),
      pair("between", null, null, false),
    ];
    const data = pairsChart(sheet({ pairs }), drawing);
    expect(data?.marks.map(({ low, high, pen }) => [low, high, pen])).toEqual([
      [-0.1, 0.1, "plain"],
      [null, 0.05, "open"],
      [0.2, null, "open"],
    ]);
    expect(data?.y.min).toBeLessThan(-0.1);
    expect(data?.y.max).toBeGreaterThan(0.2);
    expect(pairsChart(sheet({ pairs: pairs.slice(3) }), drawing)).toBeNull();
  });
});

describe("controlChartData", () => {
  it("tells by shape to which side a point lies outside, and has limits only where there are some", () => {
    const point = (middle: number, outside: "above" | "below" | null, range: number | null) => ({
      coat: "c",
      at: at(0),
      middle,
      range,
      outside,
      isRangeOutside: range !== null && range > 1,
    });
    const points = [point(0, null, null), point(2, "above", 2), point(-2, "below", 4), point(-1.5, null, 0.5)];
    const view = sheet({
      control: { points, limits: { mean: 0, lower: -1, upper: 1, meanRange: 0.4, rangeUpper: 1.3 } },
    });
    const shapes = (what: "values" | "ranges") => controlChartData(view, what, words)?.marks.map(({ shape }) => shape);
    expect(shapes("values")).toEqual(["dot", "up", "down", "dot"]);
    expect(shapes("ranges")).toEqual(["diamond", "diamond", "dot"]);
    expect(controlChartData(view, "values", words)?.lines).toHaveLength(4);
    const early = sheet({ control: { points, limits: null } });
    expect(controlChartData(early, "values", words)?.lines).toHaveLength(1);
    expect(controlChartData(sheet({}), "values", words)).toBeNull();
  });
});

describe("axes", () => {
  it("say deviations as percent of the time, with labels apart", () => {
    expect(percentOf(Math.log(1.5), words)).toBe("+50\u00a0%");
    expect(percentOf(Math.log(0.8), words)).toBe("−20\u00a0%");
    expect(percentOf(0.0001, words)).toBe("0.0\u00a0%");
    const { ticks, text, min, max } = deviationAxis([-0.7, 0.9], words);
    expect(ticks.map(text)).toContain("0\u00a0%");
    for (let index = 1; index < ticks.length; index++) {
      expect((ticks[index] as number) - (ticks[index - 1] as number)).toBeGreaterThan((max - min) / 7.01);
    }
  });
  it("do not let one that is far out press all others flat", () => {
    expect(deviationAxis([0.1, 50], words).max).toBeLessThan(1);
  });
  it("begin days at the shop's midnight", () => {
    const { ticks, text } = timeAxis(Date.UTC(2026, 10, 2), Date.UTC(2026, 10, 20), clock, "Europe/Berlin");
    expect(ticks.length).toBeGreaterThan(3);
    expect(ticks.length).toBeLessThan(8);
    for (const seconds of ticks) expect(clock.time(seconds * 1000)).toBe("00:00");
    expect(text(ticks[0] ?? 0)).toMatch(/^\d+ Nov$/);
  });
  it("say times within a day", () => {
    const { ticks, text } = timeAxis(Date.UTC(2026, 10, 2, 8), Date.UTC(2026, 10, 2, 9), clock, "Europe/Berlin");
    expect(ticks.map(text)).toContain("09:00");
  });
});
