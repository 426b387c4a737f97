/** The name of a mark or line, beside what it looks like. */
import { outlines, type Pen, pens, type Shape } from "./marks.ts";

/** A bar with both ends, or with an arrow where it is open. */
const bars = {
  both: "M16 1 V19 M11 1 H21 M11 19 H21",
  down: "M16 1 V19 M11 1 H21 M11 14 L16 19 L21 14",
  up: "M16 1 V19 M11 19 H21 M11 6 L16 1 L21 6",
} as const;

interface Props {
  name: string;
  pen: Pen;
  shape?: Shape;
  bar?: keyof typeof bars;
}

export function MarkName({ name, pen, shape, bar }: Props) {
  const { colour, dash, width } = pens[pen];
  const line = { fill: "none", stroke: colour, "stroke-width": width };
  return (
    <span class="mark-name">
      <svg viewBox="0 0 32 20" aria-hidden="true" focusable="false">
        {bar !== undefined && <path d={bars[bar]} {...line} />}
        {bar === undefined && shape === undefined && <path d="M0 10 H32" {...line} stroke-dasharray={dash.join(" ")} />}
        {shape === "dot" && <circle cx="16" cy="10" r="5" fill={colour} />}
        {shape !== undefined && shape !== "dot" && (
          <polygon points={outlines[shape].map(([x, y]) => `${16 + 6 * x},${10 + 6 * y}`).join(" ")} fill={colour} />
        )}
      </svg>
      {name}
    </span>
  );
}
