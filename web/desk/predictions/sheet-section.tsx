/** One revision of a sheet: told and found, what its checks taught, whether it drifts. */
import { useMemo } from "preact/hooks";
import type { AgreementView, PredictionsView, SheetPredictionsView } from "../../../predictor/serve/prediction-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { learnedChart, pairsChart, percentOf } from "./chart-data.ts";
import { Drift } from "./drift.tsx";
import { MarkChart } from "./mark-chart.tsx";
import { MarkName } from "./mark-name.tsx";

interface Props {
  view: SheetPredictionsView;
  fewest: PredictionsView["fewest"];
  /** Where a table of the page's own filters can be had. */
  tableHref: (table: string) => string;
}

export function SheetSection({ view, fewest, tableHref }: Props) {
  const words = useWords();
  const { name, revision } = view.sheet;
  return (
    <section>
      <h2>{words.t("predictions.sheet-title", { name, revision })}</h2>
      <div class="prediction-pair">
        <ToldAndFound view={view} fewest={fewest.brackets} csv={tableHref("pairs")} />
        <Learned view={view} csv={tableHref("learned")} />
      </div>
      <Drift view={view} fewest={fewest.limits} csv={tableHref("control")} />
    </section>
  );
}

function ToldAndFound({ view, fewest, csv }: { view: SheetPredictionsView; fewest: number; csv: string }) {
  const { clock, shop } = useDesk();
  const words = useWords();
  const data = useMemo(() => pairsChart(view, { clock, timeZone: shop.timeZone }), [view, clock, shop.timeZone]);
  const [all, ...places] = view.agreements;
  if (all === undefined) return null;
  const counts = { between: all.between, ready: all.readyOnly, notYet: all.notYetOnly };
  return (
    <div>
      <h3>{words.t("predictions.told-found")}</h3>
      <p>{words.t("predictions.pairs-counts", { ...counts, untold: all.untold })}</p>
      <Fit agreement={all} fewest={fewest} />
      {data !== null && (
        <MarkChart
          data={data}
          text={words.t("predictions.pairs-chart", counts)}
          fileName={`coatclock-told-found-${view.sheet.id}`}
          csv={csv}
        >
          <MarkName name={words.t("predictions.bar-between")} pen="plain" bar="both" />
          <MarkName name={words.t("predictions.bar-ready")} pen="open" bar="down" />
          <MarkName name={words.t("predictions.bar-not-yet")} pen="open" bar="up" />
          <MarkName name={words.t("predictions.median-line")} pen="middle" />
          <MarkName name={words.t("predictions.diagonal")} pen="level" />
        </MarkChart>
      )}
      {places.map((agreement) => (
        <div key={agreement.place?.id ?? ""} class="prediction-place">
          <h4>{agreement.place?.name ?? words.t("predictions.other-place")}</h4>
          <Fit agreement={agreement} fewest={fewest} />
        </div>
      ))}
      <p class="hint">{words.t("predictions.pairs-means")}</p>
    </div>
  );
}

function Fit({ agreement: { fit, between }, fewest }: { agreement: AgreementView; fewest: number }) {
  const words = useWords();
  if (fit === null) return <p class="prediction-said">{words.t("predictions.fit-few", { count: between, fewest })}</p>;
  const { ratio, ratioLow, ratioHigh, sigma } = fit;
  const percent = (factor: number) => percentOf(Math.log(factor), words);
  const edges = { low: percent(ratioLow), high: percent(ratioHigh) };
  if (sigma === null) return <p class="prediction-said">{words.t("predictions.fit-one", edges)}</p>;
  return (
    <p class="prediction-said">
      {words.t("predictions.fit", { percent: percent(ratio), ...edges })}{" "}
      {words.t("predictions.fit-spread", {
        low: percent(ratio * Math.exp(-sigma)),
        high: percent(ratio * Math.exp(sigma)),
      })}
    </p>
  );
}

function Learned({ view, csv }: { view: SheetPredictionsView; csv: string }) {
  const { clock, shop } = useDesk();
  const words = useWords();
  const data = useMemo(() => learnedChart(view, { clock, timeZone: shop.timeZone }), [view, clock, shop.timeZone]);
  const last = view.learned.at(-1);
  const percent = (factor: number) => percentOf(Math.log(factor), words);
  const now = last && {
    percent: percent(last.timeFactor),
    low: percent(last.low),
    high: percent(last.high),
    count: last.checks,
  };
  return (
    <div>
      <h3>{words.t("predictions.learned")}</h3>
      <p class="prediction-said">
        {now === undefined ? words.t("predictions.learned-none") : words.t("predictions.learned-now", now)}{" "}
        {view.isLearningOff && words.t("predictions.learned-off")}
      </p>
      {data !== null && now !== undefined && (
        <MarkChart
          data={data}
          text={words.t("predictions.learned-chart", now)}
          fileName={`coatclock-learned-${view.sheet.id}`}
          csv={csv}
        >
          <MarkName name={words.t("predictions.learned-line")} pen="middle" shape="dot" />
          <span class="mark-name">
            <svg viewBox="0 0 32 20" aria-hidden="true" focusable="false">
              <rect x="0" y="4" width="32" height="12" fill="#f3e9c92b" stroke="#cfcab9" />
            </svg>
            {words.t("predictions.learned-band")}
          </span>
        </MarkChart>
      )}
      <p class="hint">{words.t("predictions.learned-means")}</p>
    </div>
  );
}
