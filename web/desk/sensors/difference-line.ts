/** The line of a difference over time, as an SVG path: pure. */

export interface Box {
  width: number;
  height: number;
}

/**
 * A path through the known values, at the middle of each step, broken where one is missing; a value on its own is a short dash.
 * `reach` stands at the top edge, its negative at the bottom.
 */
export function differencePath(by: readonly (number | null)[], reach: number, { width, height }: Box): string {
  const step = width / by.length;
  const y = (value: number) => ((reach - value) / (2 * reach)) * height;
  const round = (pixels: number) => Math.round(pixels * 10) / 10;
  let path = "";
  by.forEach((value, index) => {
    if (value === null) return;
    const [x, at] = [round((index + 0.5) * step), round(y(value))];
    const isStart = (by[index - 1] ?? null) === null;
    const isAlone = isStart && (by[index + 1] ?? null) === null;
    if (isAlone) path += `M${round(index * step)} ${at}H${round((index + 1) * step)}`;
    else path += `${isStart ? "M" : "L"}${x} ${at}`;
  });
  return path;
}

/** What the axis reaches to on both sides: a third past the bound, and all that is drawn. */
export function reachOf(by: readonly (number | null)[], bound: number): number {
  return Math.max((bound * 4) / 3, ...by.map((value) => Math.abs(value ?? 0) * 1.05));
}
