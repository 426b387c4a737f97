/** Whether 'safe' keeps its promise of nine in ten. */
import { useMemo } from "preact/hooks";
import type { PredictionsView, ShareView } from "../../../predictor/serve/prediction-api.ts";
import type { Words } from "../../../words/words.ts";
import { useWords } from "../../parts/words-context.ts";
import { Scroll } from "../scroll.tsx";
import { calibrationChart, shareText } from "./chart-data.ts";
import { MarkChart } from "./mark-chart.tsx";
import { MarkName } from "./mark-name.tsx";
import { promised } from "./promise.ts";

export function Calibration({ view, csv }: { view: PredictionsView; csv: string }) {
  const words = useWords();
  const data = useMemo(() => calibrationChart(view, words), [view, words]);
  const { atSafe, firstAtSafe, bands } = view.calibration;
  const isAnyTold = atSafe.checks > 0 || bands.some(({ checks }) => checks > 0);
  const named = bands.map((band) => ({
    ...band,
    name: `${words.number(100 * band.from, 0)}–${words.number(100 * band.to, 0)}\u00a0%`,
  }));
  const said = named
    .flatMap(({ name, found }) => (found === null ? [] : [`${name}: ${shareText(found.share, words)}`]))
    .join("; ");
  return (
    <section>
      <h2>{words.t("predictions.calibration")}</h2>
      <Kept share={atSafe} fewest={view.fewest.checks} />
      <p class="hint">{words.t("predictions.calibration-means")}</p>
      <div class="prediction-pair">
        {data !== null && (
          <MarkChart
            data={data}
            text={words.t("predictions.calibration-chart", { bands: said })}
            fileName="coatclock-calibration"
            csv={csv}
            heightPx={360}
          >
            <MarkName name={words.t("predictions.found")} pen="plain" shape="square" />
            <MarkName name={words.t("predictions.expected")} pen="limit" shape="diamond" />
            <MarkName name={words.t("predictions.diagonal")} pen="level" />
          </MarkChart>
        )}
        {isAnyTold && (
          <div>
            <Scroll name={words.t("predictions.calibration")}>
              <table class="desk-table wide-table">
                <thead>
                  <tr>
                    <th scope="col">{words.t("predictions.band")}</th>
                    <th scope="col">{words.t("predictions.ready-of")}</th>
                    <th scope="col">{words.t("predictions.found")}</th>
                    <th scope="col">{words.t("predictions.told")}</th>
                    <th scope="col">{words.t("predictions.expected")}</th>
                  </tr>
                </thead>
                <tbody>
                  <ShareRow name={words.t("predictions.all-at-safe")} share={atSafe} />
                  <ShareRow name={words.t("predictions.first-at-safe")} share={firstAtSafe} />
                  {named.map((band) => (
                    <ShareRow key={band.name} name={band.name} share={band} />
                  ))}
                </tbody>
              </table>
            </Scroll>
            {data === null && (
              <p class="mark-exports">
                <a class="desk-button" href={csv} download>
                  {words.t("predictions.csv")}
                </a>
              </p>
            )}
          </div>
        )}
      </div>
    </section>
  );
}

function Kept({ share: { checks, ready, found }, fewest }: { share: ShareView; fewest: number }) {
  const words = useWords();
  if (found === null)
    return <p class="prediction-said">{words.t("predictions.few-share", { count: checks, fewest })}</p>;
  const { share, low, high } = found;
  const key = high < promised ? "less" : low > promised ? "more" : "kept";
  const shape = { less: "▼", more: "▲", kept: "●" }[key];
  return (
    <p class={`prediction-said prediction-${key}`}>
      <span aria-hidden="true">{shape}</span> <b>{words.t(`predictions.promise-${key}`)}.</b>{" "}
      {words.t("predictions.promise", {
        count: checks,
        ready,
        percent: shareText(share, words),
        ...edges(low, high, words),
      })}
    </p>
  );
}

const edges = (low: number, high: number, words: Words) => ({
  low: shareText(low, words),
  high: shareText(high, words),
});

function ShareRow({ name, share: { checks, ready, found, told, expected } }: { name: string; share: ShareView }) {
  const words = useWords();
  const text = (share: number | null) => (share === null ? "–" : shareText(share, words));
  return (
    <tr>
      <th scope="row">{name}</th>
      <td>{words.t("predictions.share-of", { ready, count: checks })}</td>
      <td>
        {found === null
          ? words.t("predictions.few")
          : `${text(found.share)} (${words.number(100 * found.low, 0)}–${text(found.high)})`}
      </td>
      <td>{text(told)}</td>
      <td>{text(expected)}</td>
    </tr>
  );
}
