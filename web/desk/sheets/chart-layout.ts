/** Where things stand in the drawing of a sheet. */
import type { LadderView } from "../../../predictor/serve/sheet-api.ts";

/** Minutes that a person names: 1 to 30 min, hours, days, weeks. */
const roundMinutes = [1, 2, 5, 10, 20, 30, 60, 120, 240, 480, 1440, 2880, 10_080, 40_320, 525_600];

export interface MinutesAxis {
  from: number;
  to: number;
  ticks: number[];
}

/** From the quickest to the slowest time that is drawn, on a logarithmic axis; `most` ticks at most. */
export function minutesAxis({ stages }: Pick<LadderView, "stages">, most: number): MinutesAxis {
  const all = stages.flatMap(({ minutes, anchors }) => [...minutes, ...anchors.map((each) => each.minutes)]);
  const drawn = all.filter((each) => each !== null);
  const from = Math.max(0.1, Math.min(...drawn, 10) * 0.8);
  const to = Math.max(...drawn, 60) * 1.25;
  const inside = roundMinutes.filter((each) => each >= from && each <= to);
  const every = Math.max(1, Math.ceil(inside.length / most));
  return { from, to, ticks: inside.filter((_, index) => index % every === 0) };
}

/** Heights of labels that are to stand at `wanted`, each at least `gap` below the one above, all between `top` and `bottom` where they fit. */
export function spreadLabels(wanted: readonly number[], gap: number, top: number, bottom: number): number[] {
  const order = wanted.map((_, index) => index).sort((a, b) => (wanted[a] ?? 0) - (wanted[b] ?? 0));
  const placed: number[] = [];
  let least = top;
  for (const index of order) {
    placed[index] = Math.max(least, wanted[index] ?? top);
    least = placed[index] + gap;
  }
  let most = bottom;
  for (const index of order.toReversed()) {
    placed[index] = Math.min(most, placed[index] ?? bottom);
    most = placed[index] - gap;
  }
  return placed;
}

/** A path through points; it breaks where there is none. */
export function pathThrough(points: readonly ([x: number, y: number] | null)[]): string {
  let path = "";
  let isPenDown = false;
  for (const point of points) {
    if (point === null) isPenDown = false;
    else {
      path += `${isPenDown ? "L" : "M"}${point[0].toFixed(1)} ${point[1].toFixed(1)}`;
      isPenDown = true;
    }
  }
  return path;
}
