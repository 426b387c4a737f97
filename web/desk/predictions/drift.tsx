/** Whether deviations still come from one and the same process: each by itself, and the leaps between them. */
import { useMemo } from "preact/hooks";
import type { SheetPredictionsView } from "../../../predictor/serve/prediction-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { controlChartData, percentOf } from "./chart-data.ts";
import { MarkChart } from "./mark-chart.tsx";
import { MarkName } from "./mark-name.tsx";

export function Drift({ view, fewest, csv }: { view: SheetPredictionsView; fewest: number; csv: string }) {
  const words = useWords();
  const values = useMemo(() => controlChartData(view, "values", words), [view, words]);
  const ranges = useMemo(() => controlChartData(view, "ranges", words), [view, words]);
  const { points, limits } = view.control;
  const outside = points.filter((point) => point.outside !== null).length;
  const percent = (ln: number) => percentOf(ln, words);
  const text =
    limits === null
      ? words.t("predictions.control-chart-few", { count: points.length })
      : words.t("predictions.control-chart", {
          count: points.length,
          mean: percent(limits.mean),
          lower: percent(limits.lower),
          upper: percent(limits.upper),
          outside,
        });
  const file = `coatclock-drift-${view.sheet.id}`;
  return (
    <div>
      <h3>{words.t("predictions.control")}</h3>
      {limits === null ? (
        <p class="prediction-said">{words.t("predictions.control-few", { count: points.length, fewest })}</p>
      ) : (
        <Outside points={points} />
      )}
      {values !== null && ranges !== null && (
        <div class="prediction-pair">
          <div>
            <h4>{words.t("predictions.control-title")}</h4>
            <MarkChart data={values} text={text} fileName={file} csv={csv} heightPx={240}>
              {limits !== null && (
                <>
                  <MarkName name={words.t("predictions.mean")} pen="middle" />
                  <MarkName name={words.t("predictions.limits")} pen="limit" />
                </>
              )}
              {outside > 0 && (
                <>
                  <MarkName name={words.t("predictions.above")} pen="outside" shape="up" />
                  <MarkName name={words.t("predictions.below")} pen="outside" shape="down" />
                </>
              )}
            </MarkChart>
          </div>
          <div>
            <h4>{words.t("predictions.control-range-title")}</h4>
            <MarkChart
              data={ranges}
              text={words.t("predictions.control-chart-few", { count: points.length })}
              fileName={`${file}-leaps`}
              csv={csv}
              heightPx={240}
            >
              {limits !== null && (
                <>
                  <MarkName name={words.t("predictions.mean")} pen="middle" />
                  <MarkName name={words.t("predictions.limits")} pen="limit" />
                </>
              )}
            </MarkChart>
          </div>
        </div>
      )}
      <p class="hint">{words.t("predictions.control-means")}</p>
    </div>
  );
}

function Outside({ points }: { points: SheetPredictionsView["control"]["points"] }) {
  const { nowMs } = useDesk();
  const words = useWords();
  const told = points.flatMap(({ coat, at, middle, range, outside, isRangeOutside }) => {
    const time = words.when(Date.parse(at), nowMs);
    const lines: { shape: string; text: string }[] = [];
    if (outside !== null) {
      const how = words.t(`predictions.${outside}`);
      const percent = percentOf(middle, words);
      lines.push({
        shape: outside === "above" ? "▲" : "▼",
        text: words.t("predictions.control-outside", { time, how, percent }),
      });
    }
    if (isRangeOutside && range !== null) {
      lines.push({
        shape: "◆",
        text: words.t("predictions.control-range-outside", { time, percent: percentOf(range, words) }),
      });
    }
    return lines.map((line) => ({ ...line, coat }));
  });
  if (told.length === 0) return <p class="prediction-said">{words.t("predictions.control-none")}</p>;
  return (
    <ul class="prediction-outside">
      {told.map(({ shape, text, coat }) => (
        <li key={text}>
          <span aria-hidden="true">{shape}</span> <a href={`/log/${coat}`}>{text}</a>
        </li>
      ))}
    </ul>
  );
}
