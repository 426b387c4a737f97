/** Between rail and chart: what was checked and found, and how long which warning held, by its number in the list below. */
import { useRef } from "preact/hooks";
import { stageWord } from "../../parts/coat-words.ts";
import { msOf, type ShopClock } from "../../parts/shop-clock.ts";
import { shareOf, type TimeScale } from "../../parts/time-scale.ts";
import { useWidth } from "../../parts/use-size.ts";
import type { ShownFile } from "../coat-ref.ts";

interface Props {
  file: ShownFile;
  scale: TimeScale;
  clock: ShopClock;
  nowMs: number;
}

const lanePx = 26;
const fontPx = 14;
/** A character's width, as on the rail. */
const charPx = fontPx * 0.56;

/** Nothing where nothing was checked or warned of on this axis. */
export function EventStrip({ file, scale, clock, nowMs }: Props) {
  const frame = useRef<HTMLDivElement>(null);
  const widthPx = useWidth(frame);
  const { words } = clock;
  const x = (ms: number) => shareOf(scale, ms) * widthPx;
  const isHere = (ms: number) => ms >= scale.fromMs && ms <= scale.toMs;
  const checks = file.coat.checks
    .filter(({ at, withdrawn }) => withdrawn === null && isHere(Date.parse(at)))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const warnings = file.warnings.flatMap(({ from, to }, index) => {
    const [fromMs, toMs] = [Date.parse(from), msOf(to) ?? nowMs];
    if (!(fromMs <= scale.toMs && toMs >= scale.fromMs)) return [];
    return [{ number: index + 1, fromMs: Math.max(fromMs, scale.fromMs), toMs: Math.min(toMs, scale.toMs) }];
  });
  if (checks.length + warnings.length === 0) return null;
  const found = (ready: boolean) => (ready ? ("history.check-ready" as const) : ("history.check-not-yet" as const));
  const said = [
    ...checks.map(
      ({ at, stage, ready }) =>
        `${clock.time(Date.parse(at))} ${words.t(found(ready), { stage: stageWord(stage, words) })}`,
    ),
    ...warnings.map(({ number, fromMs, toMs }) =>
      words.t("file.strip-warning", { number, from: clock.time(fromMs), to: clock.time(toMs) }),
    ),
  ];
  const checksPx = checks.length > 0 ? lanePx : 0;
  return (
    <div class="strip" ref={frame}>
      <svg
        role="img"
        aria-label={said.join("; ")}
        width={widthPx}
        height={checksPx + (warnings.length > 0 ? lanePx : 0)}
        font-size={fontPx}
        focusable="false"
      >
        {checks.map(({ id, at, stage, ready }, index) => {
          const here = x(Date.parse(at));
          const next = checks[index + 1];
          const endPx = next === undefined ? widthPx : x(Date.parse(next.at)) - 12;
          const word = stageWord(stage, words);
          const fits = here + 16 + (word.length + 1) * charPx <= endPx;
          return (
            <g key={id} class={ready ? "strip-ready" : "strip-not-yet"}>
              <path class="strip-box" d={`M${here - 9} 4 h18 v18 h-18 Z`} />
              <path
                class="strip-sign"
                d={ready ? `M${here - 5} 13 l4 4 7 -8` : `M${here - 4} 9 l8 8 M${here + 4} 9 l-8 8`}
              />
              {fits && (
                <text x={here + 14} y={lanePx / 2 + fontPx * 0.36}>
                  {word}
                </text>
              )}
            </g>
          );
        })}
        {warnings.map(({ number, fromMs, toMs }) => {
          const [from, to] = [x(fromMs), Math.max(x(toMs), x(fromMs) + 18)];
          return (
            <g key={number} class="strip-warning">
              <path d={`M${from} ${checksPx + 4} H${to} v18 H${from} Z`} />
              <text x={from + 5} y={checksPx + lanePx / 2 + fontPx * 0.36}>
                {number}
              </text>
            </g>
          );
        })}
      </svg>
      <p class="strip-names" aria-hidden="true">
        {checks.some(({ ready }) => ready) && <span>{`☑ ${words.t("file.strip-ready")}`}</span>}
        {checks.some(({ ready }) => !ready) && <span>{`☒ ${words.t("file.strip-not-yet")}`}</span>}
        {warnings.length > 0 && <span>{`▬ ${words.t("file.strip-warnings")}`}</span>}
      </p>
    </div>
  );
}
