/**
 * A car laid flat, as a painter walks round it: front at the top, sides folded out. One unit is one CSS pixel at the width
 * that it has on a phone 390 pixels wide, so that a part's size here is what a finger meets.
 */

export const outlineWidth = 340;
export const outlineHeight = 524;
/** The least size of a part, 8 mm on an assumed screen of 390 px and 65 mm. */
export const leastTouch = 48;

export interface OutlinePart {
  name: string;
  /** As a rule, for a phone that has not heard what the predictor takes for usual. */
  substrate: "steel" | "plastic";
  /** What a finger meets. */
  box: { x: number; y: number; width: number; height: number };
  /** How it is drawn, within the box. */
  path: string;
}

const left = { x: 0, width: 100 };
const middle = { x: 108, width: 124 };
const right = { x: 240, width: 100 };

/** A quadrilateral whose corners are cut in by so many units: top left, top right, bottom right, bottom left. */
function part(
  name: string,
  { x, width }: { x: number; width: number },
  y: number,
  height: number,
  [tl, tr, br, bl]: [number, number, number, number] = [0, 0, 0, 0],
): OutlinePart {
  const path = `M${x + tl} ${y} H${x + width - tr} L${x + width} ${y + height / 2} L${x + width - br} ${y + height} H${x + bl} L${x} ${y + height / 2} Z`;
  const substrate = /bumper|mirror/.test(name) ? "plastic" : "steel";
  return { name, substrate, box: { x, y, width, height }, path };
}

const across = { x: 52, width: 236 };

export const outline: readonly OutlinePart[] = [
  part("front bumper", across, 0, 52, [46, 46, 0, 0]),
  part("front wing left", left, 60, 62, [28, 0, 0, 0]),
  part("bonnet", middle, 60, 82, [10, 10, 0, 0]),
  part("front wing right", right, 60, 62, [0, 28, 0, 0]),
  part("mirror left", { x: 0, width: 48 }, 128, 48, [10, 0, 0, 10]),
  part("roof pillar left", { x: 52, width: 48 }, 128, 48, [14, 0, 0, 0]),
  part("roof pillar right", { x: 240, width: 48 }, 128, 48, [0, 14, 0, 0]),
  part("mirror right", { x: 292, width: 48 }, 128, 48, [0, 10, 10, 0]),
  part("front door left", left, 182, 76),
  part("roof", middle, 150, 160, [8, 8, 8, 8]),
  part("front door right", right, 182, 76),
  part("rear door left", left, 264, 72),
  part("rear door right", right, 264, 72),
  part("sill left", left, 342, 48),
  part("sill right", right, 342, 48),
  part("boot lid", middle, 318, 66, [0, 0, 8, 8]),
  part("tailgate", middle, 392, 68, [8, 8, 0, 0]),
  part("rear wing left", left, 396, 66, [0, 0, 0, 26]),
  part("rear wing right", right, 396, 66, [0, 0, 26, 0]),
  part("rear bumper", across, 472, 52, [0, 0, 46, 46]),
];

/** Whether a panel has its place in the drawing; the others are offered by name. */
export function isDrawn(name: string): boolean {
  return outline.some((each) => each.name === name);
}
