/** What the charts of predictions show, from the answer of the predictor: pure. */
import type { PredictionsView, SheetPredictionsView } from "../../../predictor/serve/prediction-api.ts";
import type { Words } from "../../../words/words.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";
import type { Axis, MarkChartData } from "./mark-chart.tsx";
import type { Line, Mark } from "./marks.ts";

const dayMs = 86_400_000;
/** Factors of time that the axis may name. */
const factors = [0.25, 0.33, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1, 1.05, 1.1, 1.2, 1.3, 1.5, 1.75, 2, 2.5, 3, 4];
/** Labels stand at least this share of the axis apart. */
const apart = 1 / 7;
/** ln of a factor beyond this is drawn at the edge. */
const farthest = Math.log(4);

/** "+12 %" of a deviation: how much longer than told; −20 % is a fifth shorter. */
export function percentOf(ln: number, words: Words, digits?: number): string {
  const percent = 100 * Math.expm1(ln);
  const text = words.number(percent, digits ?? (Math.abs(percent) < 9.95 ? 1 : 0));
  return `${percent > 0 && !/^[0.,]+$/.test(text) ? "+" : ""}${text}\u00a0%`;
}

/** The share in whole percent. */
export const shareText = (share: number, words: Words): string => `${words.number(100 * share, 0)}\u00a0%`;

/** Days of the shop from one instant to another. */
export function timeAxis(fromMs: number, toMs: number, clock: ShopClock, timeZone: string): Axis {
  const margin = Math.max((toMs - fromMs) * 0.03, 3_600_000);
  const [min, max] = [fromMs - margin, toMs + margin];
  const days = (max - min) / dayMs;
  const stepMs = days > 3 ? Math.ceil(days / 6) * dayMs : Math.ceil((days * 24) / 6) * 3_600_000;
  const format = new Intl.DateTimeFormat(clock.words.language === "de" ? "de-DE" : "en-GB", {
    timeZone,
    day: "numeric",
    month: "short",
  });
  const offsetMs = clock.offsetMs(min);
  const first = Math.ceil((min + offsetMs) / stepMs) * stepMs - offsetMs;
  const ticks = Array.from(
    { length: Math.max(0, Math.ceil((max - first) / stepMs)) },
    (_, index) => first + index * stepMs,
  );
  return {
    min: min / 1000,
    max: max / 1000,
    ticks: ticks.map((ms) => ms / 1000),
    text: (seconds) => (stepMs < dayMs ? clock.time(seconds * 1000) : format.format(seconds * 1000)),
  };
}

/** Deviations as percent of time, wide enough for all and for ±10 %. */
export function deviationAxis(values: readonly number[], words: Words): Axis {
  const near = values.filter((value) => Math.abs(value) <= farthest);
  const [min, max] = [Math.min(Math.log(0.9), ...near) - 0.03, Math.max(Math.log(1.1), ...near) + 0.03];
  const ticks = [0];
  const known = factors.map(Math.log).filter((ln) => ln >= min && ln <= max);
  const takeFrom = (outwards: number[]) => {
    let last = 0;
    for (const ln of outwards) {
      if (Math.abs(ln - last) < apart * (max - min)) continue;
      ticks.push(ln);
      last = ln;
    }
  };
  takeFrom(known.filter((ln) => ln > 0));
  takeFrom(known.filter((ln) => ln < 0).reverse());
  return { min, max, ticks: ticks.sort((a, b) => a - b), text: (ln) => percentOf(ln, words, 0) };
}

/** From edge to edge. */
const level = ({ min, max }: Axis, y: number, pen: Line["pen"]): Line => ({
  points: [
    [min, y],
    [max, y],
  ],
  pen,
});

interface Drawing {
  clock: ShopClock;
  timeZone: string;
}

const secondsOf = (iso: string) => Date.parse(iso) / 1000;
const spanOf = (seconds: readonly number[]): [number, number] => [
  1000 * Math.min(...seconds),
  1000 * Math.max(...seconds),
];

/** Each bracket as a bar, an arrow where it has no bound. */
export function pairsChart(
  { pairs, agreements }: SheetPredictionsView,
  { clock, timeZone }: Drawing,
): MarkChartData | null {
  const told = pairs.filter(({ isTold }) => isTold);
  if (told.length === 0) return null;
  const marks = told.map(
    ({ kind, lnLow, lnHigh, readyAt, notYetAt }): Mark => ({
      x: secondsOf(readyAt ?? notYetAt ?? ""),
      low: lnLow,
      high: lnHigh,
      at: null,
      shape: "dot",
      pen: kind === "between" ? "plain" : "open",
    }),
  );
  const x = timeAxis(...spanOf(marks.map((mark) => mark.x)), clock, timeZone);
  const y = deviationAxis(
    told.flatMap(({ lnLow, lnHigh }) => [lnLow ?? 0, lnHigh ?? 0]),
    clock.words,
  );
  const median = agreements[0]?.fit ?? null;
  const lines = [level(x, 0, "level"), ...(median === null ? [] : [level(x, Math.log(median.ratio), "middle")])];
  return { marks, lines, x, y };
}

/** The factor after each check, with its band. */
export function learnedChart({ learned }: SheetPredictionsView, { clock, timeZone }: Drawing): MarkChartData | null {
  if (learned.length === 0) return null;
  const points = learned.map(({ at, timeFactor, low, high }) => ({
    x: secondsOf(at),
    y: Math.log(timeFactor),
    low: Math.log(low),
    high: Math.log(high),
  }));
  const x = timeAxis(...spanOf(points.map((point) => point.x)), clock, timeZone);
  const y = deviationAxis(
    points.flatMap(({ low, high }) => [low, high]),
    clock.words,
  );
  return {
    marks: points.map((point) => ({ x: point.x, low: null, high: null, at: point.y, shape: "dot", pen: "middle" })),
    lines: [
      {
        points: points.map((point) => [point.x, point.low]),
        upTo: points.map((point) => [point.x, point.high]),
        pen: "plain",
      },
      level(x, 0, "level"),
      { points: points.map((point) => [point.x, point.y]), pen: "middle" },
    ],
    x,
    y,
  };
}

/** One by one, evenly apart: order and not time counts here. `what` is the values or the leaps between them. */
export function controlChartData(
  { control: { points, limits } }: SheetPredictionsView,
  what: "values" | "ranges",
  words: Words,
): MarkChartData | null {
  if (points.length < 2) return null;
  const marks = points.flatMap(({ middle, range, outside, isRangeOutside }, index): Mark[] => {
    const x = index + 1;
    if (what === "values") {
      const shape = outside === "above" ? "up" : outside === "below" ? "down" : "dot";
      return [{ x, low: null, high: null, at: middle, shape, pen: outside === null ? "plain" : "outside" }];
    }
    if (range === null) return [];
    return [
      {
        x,
        low: null,
        high: null,
        at: range,
        shape: isRangeOutside ? "diamond" : "dot",
        pen: isRangeOutside ? "outside" : "plain",
      },
    ];
  });
  const step = Math.ceil(points.length / 10);
  const x: Axis = {
    min: 0.5,
    max: points.length + 0.5,
    ticks: Array.from({ length: Math.floor(points.length / step) }, (_, index) => (index + 1) * step),
    text: (count) => words.number(count, 0),
  };
  const values = marks.flatMap(({ at }) => at ?? []);
  const middle = what === "values" ? limits?.mean : limits?.meanRange;
  const ends = what === "values" ? [limits?.lower, limits?.upper] : [limits?.rangeUpper];
  const known = ends.flatMap((end) => end ?? []);
  const y = deviationAxis([...values, ...known], words);
  return {
    marks,
    lines: [
      { points: marks.map((mark) => [mark.x, mark.at ?? 0]), pen: "plain" },
      ...(middle === undefined ? [] : [level(x, middle, "middle")]),
      ...known.map((end) => level(x, end, "limit")),
    ],
    x,
    y: what === "values" ? y : { ...y, min: -0.01, ticks: y.ticks.filter((tick) => tick >= 0) },
  };
}

/** Found over told, with the intervals; what a person who scatters would find as diamonds. */
export function calibrationChart({ calibration: { bands } }: PredictionsView, words: Words): MarkChartData | null {
  const told = bands.filter(({ checks }) => checks > 0);
  const enough = told.flatMap(({ told: at, expected, found }) =>
    found === null || at === null || expected === null ? [] : [{ x: at, expected, found }],
  );
  if (enough.length === 0) return null;
  const axis: Axis = { min: 0, max: 1.02, ticks: [0, 0.2, 0.4, 0.6, 0.8, 1], text: (share) => shareText(share, words) };
  return {
    marks: [
      ...enough.map(
        ({ x, expected }): Mark => ({ x, low: null, high: null, at: expected, shape: "diamond", pen: "limit" }),
      ),
      ...enough.map(
        ({ x, found }): Mark => ({
          x,
          low: found.low,
          high: found.high,
          at: found.share,
          shape: "square",
          pen: "plain",
        }),
      ),
    ],
    lines: [
      {
        points: [
          [0, 0],
          [1, 1],
        ],
        pen: "level",
      },
    ],
    x: axis,
    y: axis,
  };
}
