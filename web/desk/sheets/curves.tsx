/** Minutes to each stage over the panel's temperature. What the sheet does not cover is hatched. */
import { useRef } from "preact/hooks";
import type { LadderView } from "../../../predictor/serve/sheet-api.ts";
import { inUnit } from "../../parts/shop-clock.ts";
import { useWidth } from "../../parts/use-size.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { minutesAxis, pathThrough, spreadLabels } from "./chart-layout.ts";
import { minutesWords } from "./minutes-words.ts";
import { stageLooks } from "./stage-looks.ts";

const height = 420;
const edge = { top: 26, bottom: 44, left: 64 } as const;
const labelGap = 17;
/** Names of stages stand so far right of the axes; no letter is wider on average. */
const nameFrom = 32;
const letterWidth = 7.2;

export function Curves({ ladder }: { ladder: LadderView }) {
  const { shop } = useDesk();
  const words = useWords();
  const box = useRef<HTMLDivElement>(null);
  const width = useWidth(box);
  return (
    <div class="sheet-curves" ref={box}>
      {width > 0 && (
        <svg width={width} height={height} role="img" aria-label={words.t("sheets.curves", coveredOf(ladder))}>
          <Drawing ladder={ladder} width={width} unit={shop.units.temperature} />
        </svg>
      )}
    </div>
  );
}

export const coveredOf = ({ coversC }: LadderView) => ({
  from: { celsius: coversC.from },
  to: { celsius: coversC.to },
});

function Drawing({ ladder, width, unit }: { ladder: LadderView; width: number; unit: "C" | "F" }) {
  const words = useWords();
  const { atC, coversC, stages } = ladder;
  const longest = Math.max(...stages.map(({ stage }) => words.named("stage", stage).length));
  const right = width - nameFrom - longest * letterWidth;
  const bottom = height - edge.bottom;
  const fromC = atC[0] ?? 0;
  const toC = atC.at(-1) ?? 1;
  const axis = minutesAxis(ladder, 8);
  const x = (tempC: number) => edge.left + ((tempC - fromC) / (toC - fromC)) * (right - edge.left);
  const perLn = (bottom - edge.top) / Math.log(axis.to / axis.from);
  const y = (minutes: number) => bottom - Math.log(minutes / axis.from) * perLn;
  const isDrawn = stages.map(({ minutes }) => minutes.some((each) => each !== null));
  const ends = stages.map(({ minutes }) => {
    const last = minutes.findLastIndex((each) => each !== null);
    return { x: x(atC[last] ?? toC), y: y(minutes[last] ?? axis.to) };
  });
  const labels = spreadLabels(
    ends.map((end) => end.y),
    labelGap,
    edge.top + 4,
    bottom,
  );
  const outside = [
    [fromC, coversC.from],
    [coversC.to, toC],
  ].filter(([from = 0, to = 0]) => to > from) as [number, number][];
  return (
    <>
      <defs>
        <pattern id="uncovered" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path d="M0 0 V8" class="curve-hatch" />
        </pattern>
      </defs>
      {outside.map(([from, to]) => (
        <g key={from}>
          <rect x={x(from)} y={edge.top} width={x(to) - x(from)} height={bottom - edge.top} fill="url(#uncovered)" />
          {x(to) - x(from) > 84 && (
            <text class="curve-soft" x={(x(from) + x(to)) / 2} y={edge.top - 8} text-anchor="middle">
              {words.t("sheets.not-covered")}
            </text>
          )}
        </g>
      ))}
      {axis.ticks.map((minutes) => (
        <g key={minutes}>
          <path class="curve-grid" d={`M${edge.left} ${y(minutes)} H${right}`} />
          <text class="curve-soft" x={edge.left - 8} y={y(minutes) + 5} text-anchor="end">
            {minutesWords(minutes, words)}
          </text>
        </g>
      ))}
      {ticksOf(fromC, toC, unit, right - edge.left).map((tempC) => (
        <text key={tempC} class="curve-soft" x={x(tempC)} y={bottom + 18} text-anchor="middle">
          {Math.round(inUnit(tempC, unit))}
        </text>
      ))}
      <text class="curve-soft" x={(edge.left + right) / 2} y={height - 6} text-anchor="middle">
        {words.t("sheets.panel-axis", { unit: words.temperatureUnit })}
      </text>
      {stages.map(({ stage, minutes, anchors }, k) => {
        const { dash, mark } = stageLooks[stage];
        const points = minutes.map((each, index): [number, number] | null =>
          each === null ? null : [x(atC[index] ?? 0), y(each)],
        );
        const end = ends[k] ?? { x: right, y: bottom };
        return (
          isDrawn[k] && (
            <g key={stage}>
              <path class="curve-under" d={pathThrough(points)} />
              <path class="curve-line" d={pathThrough(points)} stroke-dasharray={dash} />
              {anchors.map((anchor) => (
                <path
                  key={anchor.tempC}
                  class="curve-mark"
                  d={mark}
                  transform={`translate(${x(anchor.tempC)} ${y(anchor.minutes)})`}
                />
              ))}
              <path class="curve-lead" d={`M${end.x + 2} ${end.y} L${right + 10} ${labels[k] ?? 0}`} />
              <path class="curve-mark" d={mark} transform={`translate(${right + 16} ${labels[k] ?? 0})`} />
              <text x={right + 26} y={(labels[k] ?? 0) + 5}>
                {words.named("stage", stage)}
              </text>
            </g>
          )
        );
      })}
    </>
  );
}

/** Round degrees of the shop's unit, as many as there is room for. */
function ticksOf(fromC: number, toC: number, unit: "C" | "F", width: number): number[] {
  const step = [5, 10, 20, 50].find((each) => ((inUnit(toC, unit) - inUnit(fromC, unit)) / each) * 36 < width) ?? 50;
  const first = Math.ceil(inUnit(fromC, unit) / step) * step;
  const count = Math.floor((inUnit(toC, unit) - first) / step) + 1;
  return Array.from({ length: Math.max(0, count) }, (_, n) => first + n * step).map((degrees) =>
    unit === "F" ? (degrees - 32) / 1.8 : degrees,
  );
}
