/** The name of a mark or line, beside what it looks like. */
import { outlines, type Pen, pens, type Shape } from "./marks.ts";

export function MarkName({ name, pen, shape, bar = false }: { name: string; pen: Pen; shape?: Shape; bar?: boolean }) {
  const { colour, dash, width } = pens[pen];
  const line = { fill: "none", stroke: colour, "stroke-width": width };
  return (
    <span class="mark-name">
      <svg viewBox="0 0 32 20" aria-hidden="true" focusable="false">
        {bar && <path d="M16 1 V19 M11 1 H21 M11 19 H21" {...line} stroke-dasharray={dash.join(" ")} />}
        {!bar && shape === undefined && <path d="M0 10 H32" {...line} stroke-dasharray={dash.join(" ")} />}
        {shape === "dot" && <circle cx="16" cy="10" r="5" fill={colour} />}
        {shape !== undefined && shape !== "dot" && (
          <polygon points={outlines[shape].map(([x, y]) => `${16 + 6 * x},${10 + 6 * y}`).join(" ")} fill={colour} />
        )}
      </svg>
      {name}
    </span>
  );
}
