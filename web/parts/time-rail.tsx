/** The time rail: a coat's finish, stages, windows and bands on clock time, with tape laid out to now. */
import { useRef } from "preact/hooks";
import { railText } from "./coat-words.ts";
import type { RailCoat } from "./rail-coat.ts";
import { layoutRail, type RailGate, type RailLayout, type RailMark } from "./rail-layout.ts";
import type { ShopClock } from "./shop-clock.ts";
import { shareOf, type TimeScale } from "./time-scale.ts";
import { useWidth } from "./use-size.ts";

/** Heights of a rail's parts in CSS pixels. */
export interface RailSize {
  labelPx: number;
  tapePx: number;
  bandPx: number;
  fontPx: number;
  /** Clock times under the rail; false where a chart below carries them. */
  ticks: boolean;
}

interface Props {
  coat: RailCoat;
  scale: TimeScale;
  size: RailSize;
  clock: ShopClock;
  nowMs: number;
}

/** Average width of a character of the page's condensed sans serif, in em (measured on the widest of its fallbacks). */
const charEm = 0.56;

/** A drawn rail with its text alternative; takes the width it is given. */
export function TimeRail({ coat, scale, size, clock, nowMs }: Props) {
  const frame = useRef<HTMLDivElement>(null);
  const widthPx = useWidth(frame);
  const room = { widthPx, labelCharPx: size.fontPx * charEm, bandCharPx: size.fontPx * charEm };
  const layout = layoutRail(coat, scale, nowMs, room, clock);
  const top = size.labelPx;
  const bottom = top + size.tapePx;
  const height = bottom + size.bandPx + (size.ticks ? size.fontPx * 1.5 : 0);
  return (
    <div class="rail" ref={frame}>
      {widthPx > 0 && (
        <svg
          role="img"
          aria-label={railText(coat, clock, nowMs)}
          width={widthPx}
          height={height}
          font-size={size.fontPx}
          focusable="false"
        >
          {scale.ticksMs.map((tick) => {
            const x = shareOf(scale, tick) * widthPx;
            return (
              <g key={tick}>
                <path class="rail-tick" d={`M${x} ${top - 4} V${bottom + 4}`} />
                {size.ticks && (
                  <text class="rail-time" x={x} y={height - size.fontPx * 0.25} text-anchor={anchorOf(x, widthPx)}>
                    {clock.time(tick)}
                  </text>
                )}
              </g>
            );
          })}
          <path class="rail-base" d={`M0 ${(top + bottom) / 2} H${widthPx}`} />
          <Tape layout={layout} top={top} bottom={bottom} />
          {layout.gates.map((gate) => (
            <Gate key={`${gate.fromX} ${gate.toX}`} gate={gate} top={top} bottom={bottom} />
          ))}
          {layout.marks.map((mark) => (
            <StageMark key={mark.stage} mark={mark} top={top} bottom={bottom} widthPx={widthPx} fontPx={size.fontPx} />
          ))}
          {(size.bandPx > 0 ? layout.bands : []).map((band) => (
            <g key={`${band.kind} ${band.fromX}`} class={`rail-band band-${band.kind}`}>
              {band.kind === "gap" && (
                <path class="backing" d={bandPath("place", band.fromX, band.toX, bottom + 4, size.bandPx - 4)} />
              )}
              <path class="strip" d={bandPath(band.kind, band.fromX, band.toX, bottom + 4, size.bandPx - 4)} />
              <text x={band.fromX + size.fontPx * 0.4} y={bottom + size.bandPx * 0.5 + size.fontPx * 0.42}>
                {band.text}
              </text>
            </g>
          ))}
          <path class="rail-now" d={`M${layout.nowX} ${top - 3} V${bottom + 4}`} />
        </svg>
      )}
      {layout.beyond.length > 0 && (
        <p class="rail-beyond" aria-hidden="true">
          {layout.beyond.map(({ word, when }) => (
            <span key={word}>
              {word} {when} <b>▸</b>{" "}
            </span>
          ))}
        </p>
      )}
    </div>
  );
}

const anchorOf = (x: number, widthPx: number) => (x < 20 ? "start" : x > widthPx - 20 ? "end" : "middle");

/** From the finish, or torn off at the axis start, to its torn end at now. */
export function Tape({ layout, top, bottom }: { layout: RailLayout; top: number; bottom: number }) {
  const { finishX, nowX } = layout;
  if (!(nowX > finishX)) return null;
  const inset = (bottom - top) * 0.16;
  const from = top + inset;
  const to = bottom - inset;
  const quarter = (to - from) / 4;
  const tooth = quarter * 0.6;
  const right = `l${-tooth} ${quarter} l${tooth} ${quarter} l${-tooth} ${quarter} l${tooth} ${quarter}`;
  const left = `l${tooth} ${-quarter} l${-tooth} ${-quarter} l${tooth} ${-quarter} L0 ${from}`;
  const start = Math.max(finishX, 0);
  return (
    <>
      <path class="rail-tape" d={`M${start} ${from} H${nowX} ${right} H${start} ${finishX < 0 ? left : "Z"}`} />
      {finishX >= 0 && <path class="rail-finish" d={`M${finishX} ${top} V${bottom}`} />}
    </>
  );
}

interface StageMarkProps {
  mark: RailMark;
  top: number;
  bottom: number;
  widthPx: number;
  fontPx: number;
}

/** A stage: a post at likely and a tail out to safe, with its label where it has one. */
export function StageMark({ mark, top, bottom, widthPx, fontPx }: StageMarkProps) {
  const { likelyX, safeX, label } = mark;
  return (
    <g class={`rail-mark mark-${mark.state.replace(" ", "-")}`}>
      {safeX !== null && (
        <path class="tail" d={tailPath(likelyX, Math.max(safeX, likelyX + 3), top, bottom, widthPx)} />
      )}
      {likelyX >= 0 && <path class="post" d={`M${likelyX} ${top} V${bottom}`} />}
      {label !== null && (
        <text x={label.x} y={top - fontPx * 0.42}>
          {label.text}
        </text>
      )}
    </g>
  );
}

/** A wedge from full height at likely to a point at safe, cut off at both ends of the axis. */
function tailPath(likelyX: number, safeX: number, top: number, bottom: number, widthPx: number): string {
  const middle = (top + bottom) / 2;
  const full = (bottom - top) / 2 - 2;
  const half = (x: number) => full * (1 - (x - likelyX) / (safeX - likelyX));
  const from = Math.max(likelyX, 0);
  const to = Math.min(safeX, widthPx);
  return `M${from} ${middle - half(from)} L${to} ${middle - half(to)} V${middle + half(to)} L${from} ${middle + half(from)} Z`;
}

/** A window: two posts that face each other, and the span between them. */
export function Gate({ gate, top, bottom }: { gate: RailGate; top: number; bottom: number }) {
  const leaf = (bottom - top) * 0.3;
  const opening = gate.opensHere ? `M${gate.fromX + leaf} ${top - 3} H${gate.fromX} V${bottom + 3} h${leaf}` : "";
  const shutting = gate.shutsHere ? `M${gate.toX - leaf} ${top - 3} H${gate.toX} V${bottom + 3} h${-leaf}` : "";
  return (
    <g class={`rail-gate gate-${gate.state.replace(" ", "-")}`}>
      <path class="span" d={`M${gate.fromX} ${top - 3} H${gate.toX} M${gate.fromX} ${bottom + 3} H${gate.toX}`} />
      <path class="posts" d={`${opening}${shutting}`} />
    </g>
  );
}

/** A stay is a strip; a gap is a row of slashes, so that it is not told by colour alone. */
function bandPath(kind: "place" | "gap", fromX: number, toX: number, top: number, height: number): string {
  if (kind === "place") return `M${fromX} ${top} H${toX - 2} v${height} H${fromX} Z`;
  const slashes: string[] = [];
  for (let x = fromX + height; x <= toX; x += height) slashes.push(`M${x - height} ${top + height} L${x} ${top}`);
  return slashes.join("") || `M${fromX} ${top + height} L${toX} ${top}`;
}
