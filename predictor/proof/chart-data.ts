/** What the chart of a certificate shows, reckoned from its file alone: pure. */
import { dewPointC } from "../air/humidity.ts";
import { readCase } from "../cure/case.ts";
import { gapMs } from "../follow/merge.ts";
import type { CoatCertificate } from "./certificate-file.ts";
import type { Point } from "./spread.ts";

/** A line that is broken where nothing was known. */
export type Line = Point[][];

export interface ChartData {
  fromMs: number;
  toMs: number;
  airC: Line;
  panelC: Line;
  dewC: Line;
  rhPercent: Line;
  curePercent: Line;
  /** The panel was reckoned from the air, all along or for a part. */
  isPanelEstimated: boolean;
}

/** So many stretches of the axis, each with its least and its greatest value. */
const stretches = 240;
const shortestMs = 10 * 60_000;
/** Air beyond the last time that is shown, as a share. */
const aside = 0.04;

/** From the finish until the figures end and the stages but full cure are safe. */
export function chartData(certificate: CoatCertificate): ChartData {
  const { case: input, figures, notes } = certificate;
  const fromMs = Date.parse(input.coat.finishedAt);
  const stages = figures.stages.filter(({ stage }) => stage !== "full-cure");
  const ends = [figures.until, figures.coveredAt, ...stages.map(({ safeAt, likelyAt }) => safeAt ?? likelyAt)];
  const endMs = Math.max(...ends.flatMap((at) => (at === null ? [] : [Date.parse(at)])));
  const toMs = fromMs + Math.max(shortestMs, (endMs - fromMs) * (1 + aside));
  const readings = input.readings
    .map(({ at, ...reading }) => ({ atMs: Date.parse(at), ...reading }))
    .filter(({ atMs }) => atMs >= fromMs && atMs <= toMs);
  const lineOf = (read: (reading: (typeof readings)[number], index: number) => number | null) =>
    broken(
      readings.flatMap((reading, index) => {
        const value = read(reading, index);
        return value === null || !Number.isFinite(value) ? [] : [{ atMs: reading.atMs, value }];
      }),
    ).map((part) => thinned(part, fromMs, toMs));
  const known = readCase(input);
  const course = "faults" in known ? [] : known.climb.course(readings.map(({ atMs }) => atMs));
  return {
    fromMs,
    toMs,
    airC: lineOf(({ airC }) => airC),
    panelC: lineOf((_, index) => course[index]?.panelC ?? null),
    dewC: lineOf(({ airC, rhPercent }) => (rhPercent > 0 ? dewPointC(airC, rhPercent) : null)),
    rhPercent: lineOf(({ rhPercent }) => rhPercent),
    curePercent: lineOf((_, index) => course[index]?.curePercent ?? null),
    isPanelEstimated: notes.some(({ code }) => code === "panel-estimated"),
  };
}

function broken(points: readonly Point[]): Line {
  const parts: Line = [];
  for (const point of points) {
    const part = parts.at(-1);
    const before = part?.at(-1);
    if (part !== undefined && before !== undefined && point.atMs - before.atMs <= gapMs) part.push(point);
    else parts.push([point]);
  }
  return parts;
}

/** The least and the greatest point of each stretch, and both ends. */
function thinned(points: Point[], fromMs: number, toMs: number): Point[] {
  if (points.length <= 2 * stretches) return points;
  const stretchOf = ({ atMs }: Point) => Math.floor(((atMs - fromMs) / (toMs - fromMs)) * stretches);
  const kept = new Set([points[0] as Point, points.at(-1) as Point]);
  for (let start = 0; start < points.length; ) {
    let [least, greatest] = [points[start] as Point, points[start] as Point];
    let end = start;
    for (; end < points.length && stretchOf(points[end] as Point) === stretchOf(points[start] as Point); end++) {
      const point = points[end] as Point;
      if (point.value < least.value) least = point;
      if (point.value > greatest.value) greatest = point;
    }
    kept.add(least).add(greatest);
    start = end;
  }
  return points.filter((point) => kept.has(point));
}
