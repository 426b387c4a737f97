/** What came of the coats of the span, by sheet and place. */
import type { PredictionsView, SpanFiguresView } from "../../../predictor/serve/prediction-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { durationText } from "../../phone/coats/what-if-words.ts";
import { Scroll } from "../scroll.tsx";
import { shareText } from "./chart-data.ts";

export function CoatsOfSpan({ span: { all, rows }, csv }: { span: PredictionsView["span"]; csv: string }) {
  const words = useWords();
  return (
    <section>
      <h2>{words.t("predictions.of-coats")}</h2>
      {all.coats === 0 ? (
        <p>{words.t("predictions.no-coats")}</p>
      ) : (
        <>
          <Scroll name={words.t("predictions.of-coats")}>
            <table class="desk-table wide-table">
              <thead>
                <tr>
                  <th scope="col">{words.t("predictions.sheet")}</th>
                  <th scope="col">{words.t("predictions.place")}</th>
                  <th scope="col">{words.t("predictions.coats")}</th>
                  <th scope="col">{words.t("predictions.outside")}</th>
                  <th scope="col">{words.t("predictions.windows-missed")}</th>
                  <th scope="col">{words.t("predictions.covered-early")}</th>
                  <th scope="col">{words.t("predictions.waiting")}</th>
                  <th scope="col">{words.t("predictions.ninth-decile")}</th>
                  <th scope="col">{words.t("predictions.wait-total")}</th>
                </tr>
              </thead>
              <tbody>
                {rows.map(({ sheet, place, ...figures }) => (
                  <tr key={`${sheet.id}/${sheet.revision}/${place?.id}`}>
                    <th scope="row">
                      {words.t("predictions.sheet-title", { name: sheet.name, revision: sheet.revision })}
                    </th>
                    <td>{place?.name ?? words.t("predictions.other-place")}</td>
                    <Figures figures={figures} />
                  </tr>
                ))}
                <tr class="prediction-all">
                  <th scope="row">{words.t("predictions.of-total")}</th>
                  <td>{words.t("predictions.all-places")}</td>
                  <Figures figures={all} />
                </tr>
              </tbody>
            </table>
          </Scroll>
          <p class="mark-exports">
            <a class="desk-button" href={csv} download>
              {words.t("predictions.csv")}
            </a>
          </p>
        </>
      )}
      <p class="hint">{words.t("predictions.coats-means")}</p>
    </section>
  );
}

function Figures({ figures }: { figures: SpanFiguresView }) {
  const words = useWords();
  const { coats, outsideHours, outsideShare, windowsMissed, coveredEarly, waiting } = figures;
  const hours = (value: number) => words.t("predictions.hours", { hours: words.number(value, 1) });
  const minutes = (value: number | null) =>
    value === null ? words.t("predictions.few") : durationText(Math.round(value), words);
  return (
    <>
      <td>{coats}</td>
      <td>{outsideShare === null ? "–" : `${shareText(outsideShare, words)} (${hours(outsideHours)})`}</td>
      <td>{windowsMissed}</td>
      <td>{coveredEarly}</td>
      <td>{waiting === null ? "–" : minutes(waiting.medianMinutes)}</td>
      <td>{waiting === null ? "–" : minutes(waiting.ninthDecileMinutes)}</td>
      <td>{waiting === null ? "–" : hours(waiting.totalHours)}</td>
    </>
  );
}
