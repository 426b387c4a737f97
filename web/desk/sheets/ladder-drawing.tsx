/** The ladder: each stage a rung at the percentage that it stands for, with its time at the reference temperature. */
import type { LadderView } from "../../../predictor/serve/sheet-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { spreadLabels } from "./chart-layout.ts";
import { minutesWords } from "./minutes-words.ts";
import { stageLooks } from "./stage-looks.ts";

const width = 250;
const height = 420;
const top = 26;
const bottom = height - 44;
const rails = [14, 62] as const;

export function LadderDrawing({ ladder: { stages, reference } }: { ladder: LadderView }) {
  const words = useWords();
  const y = (percent: number) => bottom - (percent / 100) * (bottom - top);
  const heights = stages.map(({ curePercent }) => y(curePercent));
  const labels = spreadLabels(heights, 34, top, bottom);
  return (
    <svg
      class="sheet-ladder"
      width={width}
      height={height}
      role="img"
      aria-label={words.t("sheets.ladder-of", { at: { celsius: reference.tempC } })}
    >
      {rails.map((x) => (
        <path key={x} class="ladder-rail" d={`M${x} ${top - 12} V${bottom}`} />
      ))}
      <path class="ladder-foot" d={`M${rails[0] - 10} ${bottom} H${rails[1] + 10}`} />
      <text class="curve-soft" x={rails[0] - 10} y={bottom + 18}>
        {words.t("sheets.ladder-foot", { at: { celsius: reference.tempC } })}
      </text>
      {stages.map(({ stage, curePercent, isPercentPrinted }, k) => (
        <g key={stage}>
          <path
            class="ladder-rung"
            d={`M${rails[0]} ${heights[k] ?? 0} H${rails[1]}`}
            stroke-dasharray={isPercentPrinted ? "" : "5 3"}
          />
          <path class="curve-lead" d={`M${rails[1] + 4} ${heights[k] ?? 0} L${rails[1] + 16} ${labels[k] ?? 0}`} />
          <path
            class="curve-mark"
            d={stageLooks[stage].mark}
            transform={`translate(${rails[1] + 24} ${labels[k] ?? 0})`}
          />
          <text x={rails[1] + 36} y={(labels[k] ?? 0) - 2}>
            {words.named("stage", stage)}
          </text>
          <text class="curve-soft" x={rails[1] + 36} y={(labels[k] ?? 0) + 13}>
            {words.t("sheets.rung", {
              percent: curePercent,
              minutes: minutesWords(reference.minutes[k] ?? null, words),
            })}
          </text>
        </g>
      ))}
    </svg>
  );
}
