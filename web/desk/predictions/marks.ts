/** How marks and lines are drawn onto a plot. */
import type uPlot from "uplot";

export const shapes = ["dot", "square", "up", "down", "diamond"] as const;
export type Shape = (typeof shapes)[number];

/** What is known of a value at x: from low to high, and a shape where it has one; an end that is null is open, and drawn as an arrow. */
export interface Mark {
  x: number;
  low: number | null;
  high: number | null;
  /** No shape where null. */
  at: number | null;
  shape: Shape;
  pen: Pen;
}

/** From point to point; level where two points suffice. */
export interface Line {
  points: readonly (readonly [x: number, y: number])[];
  pen: Pen;
  /** The upper edge of a band whose lower edge `points` are. */
  upTo?: readonly (readonly [x: number, y: number])[];
}

/** Colour, dash and width differ, so that none is told by colour alone. */
export const pens = {
  plain: { colour: "#f3e9c9", dash: [], width: 2 },
  open: { colour: "#9ecbff", dash: [4, 4], width: 2 },
  outside: { colour: "#ff9c88", dash: [], width: 3 },
  middle: { colour: "#f7b733", dash: [12, 6], width: 2 },
  limit: { colour: "#ffb3a1", dash: [3, 5], width: 2 },
  level: { colour: "#cfcab9", dash: [1, 5], width: 2 },
} as const satisfies Record<string, { colour: string; dash: readonly number[]; width: number }>;
export type Pen = keyof typeof pens;

const bandFill = "#f3e9c92b";
const reachPx = 6;
const arrowPx = 26;

/** Units of a shape about its middle, for a canvas and for an SVG path alike. */
export const outlines: Record<Exclude<Shape, "dot">, readonly (readonly [number, number])[]> = {
  square: [
    [-0.85, -0.85],
    [0.85, -0.85],
    [0.85, 0.85],
    [-0.85, 0.85],
  ],
  up: [
    [0, -1.1],
    [1.1, 0.9],
    [-1.1, 0.9],
  ],
  down: [
    [0, 1.1],
    [1.1, -0.9],
    [-1.1, -0.9],
  ],
  diamond: [
    [0, -1.3],
    [1.3, 0],
    [0, 1.3],
    [-1.3, 0],
  ],
};

export function drawLines(plot: uPlot, lines: readonly Line[]): void {
  for (const { points, pen, upTo } of lines) {
    const { ctx } = plot;
    const place = ([x, y]: readonly [number, number]) => [px(plot, x, "x"), px(plot, y, "y")] as const;
    within(plot, () => {
      if (upTo !== undefined) {
        path(ctx, [...points, ...upTo.toReversed()].map(place));
        ctx.fillStyle = bandFill;
        ctx.fill();
        return;
      }
      take(ctx, pen);
      path(ctx, points.map(place));
      ctx.stroke();
    });
  }
}

export function drawMarks(plot: uPlot, marks: readonly Mark[]): void {
  const { ctx } = plot;
  const { top, height } = plot.bbox;
  for (const { x, low, high, at, shape, pen } of marks) {
    within(plot, () => {
      const across = px(plot, x, "x");
      const reach = reachPx * devicePixelRatio;
      const arrow = arrowPx * devicePixelRatio;
      take(ctx, pen);
      if (low !== null || high !== null) {
        const lower = low === null ? Math.min(px(plot, high as number, "y") + arrow, top + height) : px(plot, low, "y");
        const upper = high === null ? Math.max(px(plot, low as number, "y") - arrow, top) : px(plot, high, "y");
        path(ctx, [
          [across, lower],
          [across, upper],
        ]);
        ctx.stroke();
        ctx.setLineDash([]);
        for (const [end, y, way] of [
          [low, lower, -1],
          [high, upper, 1],
        ] as const) {
          const tip = end === null ? way * reach : 0;
          path(ctx, [
            [across - reach, y + tip],
            [across, y],
            [across + reach, y + tip],
          ]);
          ctx.stroke();
        }
      }
      if (at !== null) drawShape(ctx, shape, across, px(plot, at, "y"), reach);
    });
  }
}

function drawShape(ctx: CanvasRenderingContext2D, shape: Shape, x: number, y: number, reach: number): void {
  ctx.fillStyle = ctx.strokeStyle;
  if (shape === "dot") {
    ctx.beginPath();
    ctx.arc(x, y, reach * 0.8, 0, 2 * Math.PI);
  } else {
    path(
      ctx,
      outlines[shape].map(([dx, dy]) => [x + dx * reach, y + dy * reach]),
    );
  }
  ctx.fill();
}

const px = (plot: uPlot, value: number, scale: "x" | "y") => plot.valToPos(value, scale, true);

function within({ ctx, bbox }: uPlot, draw: () => void): void {
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left - 8, bbox.top - 8, bbox.width + 16, bbox.height + 16);
  ctx.clip();
  draw();
  ctx.restore();
}

function take(ctx: CanvasRenderingContext2D, pen: Pen): void {
  const { colour, dash, width } = pens[pen];
  ctx.strokeStyle = colour;
  ctx.lineWidth = width * devicePixelRatio;
  ctx.setLineDash(dash.map((length) => length * devicePixelRatio));
}

function path(ctx: CanvasRenderingContext2D, points: readonly (readonly [number, number])[]): void {
  ctx.beginPath();
  for (const [x, y] of points) ctx.lineTo(x, y);
}
