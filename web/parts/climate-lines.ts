/**
 * A place's history as lines on the shared axis: °C to the shop's unit, ISO text to seconds, the current figures as their
 * live ends, and the air to be expected from there on.
 */
import type { Climate, ClimateHistory, CoatCourse, HoursAhead } from "../../predictor/serve/api.ts";
import { figureOf } from "./freshness.ts";
import { inUnit } from "./shop-clock.ts";

export type Line = (number | null)[];

export interface ClimateLines {
  /** UTC seconds, rising. */
  atSeconds: number[];
  air: Line;
  airLeast: Line;
  airMost: Line;
  panel: Line;
  dewPoint: Line;
  humidity: Line;
  /** Of a coat: how far cured it was, %. */
  cured: Line;
  /** Likely, and colder or warmer one time in ten; null as far as there are measured values. */
  expected: Line;
  expectedCold: Line;
  expectedWarm: Line;
}

/** The lines of what was measured; none of them for null. A coat's course has its own panel, and how far cured it was. Null values are gaps and stay gaps. */
export function pastLines(history: ClimateHistory | CoatCourse | null, unit: "C" | "F"): ClimateLines {
  const degrees = (line: readonly (number | null)[]): Line =>
    line.map((value) => (value === null ? null : inUnit(value, unit)));
  const course = history !== null && "curePercent" in history ? history : null;
  return {
    atSeconds: (history?.at ?? []).map((iso) => Date.parse(iso) / 1000),
    air: degrees(history?.airC.mean ?? []),
    airLeast: degrees(history?.airC.min ?? []),
    airMost: degrees(history?.airC.max ?? []),
    panel: degrees(course?.followedPanelC ?? history?.panelC.mean ?? []),
    dewPoint: degrees(history?.dewPointC ?? []),
    humidity: [...(history?.rhPercent.mean ?? [])],
    cured: [...(course?.curePercent ?? [])],
    expected: [],
    expectedCold: [],
    expectedWarm: [],
  };
}

/** The same with their live ends, and with what is expected from there on; a climate of null has no ends. Nothing is expected before now. */
export function climateLines(
  past: ClimateLines,
  climate: Climate | null,
  ahead: HoursAhead | null,
  unit: "C" | "F",
  nowMs: number,
): ClimateLines {
  const lines = copied(past);
  const nowSeconds = nowMs / 1000;
  if (climate !== null && nowSeconds > (lines.atSeconds.at(-1) ?? Number.NEGATIVE_INFINITY)) {
    const end = (name: "airC" | "panelC" | "rhPercent") => {
      const figure = figureOf(climate[name], nowMs);
      return figure.kind === "current" ? figure.value : null;
    };
    const [airC, panelC, rhPercent] = [end("airC"), end("panelC"), end("rhPercent")];
    const air = airC === null ? null : inUnit(airC, unit);
    lines.atSeconds.push(nowSeconds);
    lines.air.push(air);
    lines.airLeast.push(air);
    lines.airMost.push(air);
    lines.panel.push(panelC === null ? null : inUnit(panelC, unit));
    lines.humidity.push(rhPercent);
    lines.cured.push(null);
    const dewPointC = airC === null || rhPercent === null ? null : climate.dewPointC;
    lines.dewPoint.push(dewPointC === null ? null : inUnit(dewPointC, unit));
  }
  if (ahead !== null) addExpected(lines, ahead, unit);
  return lines;
}

function copied({ atSeconds, ...lines }: ClimateLines): ClimateLines {
  const copies = Object.entries(lines).map(([name, line]) => [name, line.slice()] as const);
  return { atSeconds: atSeconds.slice(), ...(Object.fromEntries(copies) as Omit<ClimateLines, "atSeconds">) };
}

/** The expected air opens out from the last measured value: at that instant nothing else is to be expected. */
function addExpected(lines: ClimateLines, ahead: HoursAhead, unit: "C" | "F"): void {
  const measured = lines.atSeconds.length;
  const fromSeconds = lines.atSeconds.at(-1) ?? Number.NEGATIVE_INFINITY;
  const at = ahead.at.map((iso) => Date.parse(iso) / 1000);
  const first = at.findIndex((seconds) => seconds > fromSeconds);
  if (first === -1) return;
  for (const [line, values] of [
    [lines.expected, ahead.airC],
    [lines.expectedCold, ahead.coldC],
    [lines.expectedWarm, ahead.warmC],
  ] as const) {
    const degrees = values.map((value) => inUnit(value, unit));
    for (let index = 1; index < measured; index++) line.push(null);
    if (measured > 0) line.push(lines.air[measured - 1] ?? null);
    line.push(...degrees.slice(first));
  }
  lines.atSeconds.push(...at.slice(first));
  for (const line of [
    lines.air,
    lines.airLeast,
    lines.airMost,
    lines.panel,
    lines.dewPoint,
    lines.humidity,
    lines.cured,
  ]) {
    for (let index = first; index < at.length; index++) line.push(null);
  }
}

const drawnDegrees = (lines: ClimateLines) => [
  lines.airLeast,
  lines.airMost,
  lines.panel,
  lines.dewPoint,
  lines.expectedCold,
  lines.expectedWarm,
];

/**
 * The temperature range to draw, with a tick at each of about `mostSteps` round steps: all values on the axis from `fromSeconds` to `toSeconds`,
 * at least four degrees. Without any value, 10 to 30.
 */
export function temperatureRange(
  lines: ClimateLines,
  fromSeconds: number,
  toSeconds: number,
  mostSteps: number,
): { min: number; max: number; ticks: number[] } {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const line of drawnDegrees(lines)) {
    line.forEach((value, index) => {
      const at = lines.atSeconds[index] ?? Number.NaN;
      if (value === null || !(at >= fromSeconds && at <= toSeconds)) return;
      least = Math.min(least, value);
      most = Math.max(most, value);
    });
  }
  if (!(most >= least)) [least, most] = [10, 30];
  const step = [1, 2, 5, 10, 20, 50].find((size) => Math.max(most - least, 4) / size <= mostSteps) ?? 100;
  const min = Math.floor((least - step * 0.1) / step) * step;
  const max = Math.ceil((most + step * 0.1) / step) * step;
  const ticks: number[] = [];
  for (let tick = min; tick <= max; tick += step) ticks.push(tick);
  return { min, max, ticks };
}
