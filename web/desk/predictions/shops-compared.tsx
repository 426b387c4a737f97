/** The shops of a head office side by side: what came of their coats, and how well they predict. */
import type { Compared, Comparison } from "../../../predictor/serve/office-api.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { durationText } from "../../phone/coats/what-if-words.ts";
import { useDesk } from "../desk.tsx";
import { NoAnswer } from "../no-answer.tsx";
import { Scroll } from "../scroll.tsx";
import { percentOf, shareText } from "./chart-data.ts";
import { Filters } from "./filters.tsx";
import { promised } from "./promise.ts";

export function ShopsCompared() {
  const { search } = useDesk();
  const words = useWords();
  const { answer, failure } = useAsked<Comparison>(`/api/comparison${search}`);
  if (failure !== null) return <NoAnswer failure={failure} />;
  if (answer === null) return <p role="status">{words.t("predictions.working")}</p>;
  return (
    <>
      <Filters view={{ ...answer, choices: { sheets: answer.sheets, places: [] } }} />
      <h2>{words.t("shops-compared.title")}</h2>
      {answer.all.span.coats === 0 ? <p>{words.t("predictions.no-coats")}</p> : <Table comparison={answer} />}
      <p class="hint">{words.t("shops-compared.not-ranking")}</p>
      <p class="hint">{words.t("predictions.coats-means")}</p>
      <p class="hint">{words.t("shops-compared.means")}</p>
    </>
  );
}

function Table({ comparison: { from, to, shops, all } }: { comparison: Comparison }) {
  const { search } = useDesk();
  const words = useWords();
  const hrefOf = (shop: string) => {
    const asked = new URLSearchParams(search);
    asked.set("shop", shop);
    asked.set("from", from);
    asked.set("to", to);
    return `/predictions?${asked}`;
  };
  return (
    <Scroll name={words.t("shops-compared.title")}>
      <table class="desk-table wide-table shops-compared">
        <thead>
          <tr>
            <th scope="col">{words.t("predictions.shop")}</th>
            <th scope="col">{words.t("predictions.coats")}</th>
            <th scope="col">{words.t("shops-compared.dried")}</th>
            <th scope="col">{words.t("predictions.outside")}</th>
            <th scope="col">{words.t("predictions.windows-missed")}</th>
            <th scope="col">{words.t("predictions.covered-early")}</th>
            <th scope="col">{words.t("predictions.waiting")}</th>
            <th scope="col">{words.t("shops-compared.ratio")}</th>
            <th scope="col">{words.t("shops-compared.safe")}</th>
          </tr>
        </thead>
        <tbody>
          {shops.map(({ shop, state, ...figures }) => (
            <tr key={shop.id}>
              <th scope="row">
                <a href={hrefOf(shop.id)}>{shop.name}</a>
                {state !== "up-to-date" && <small class="is-outside">{words.t(`shops.state-${state}`)}</small>}
              </th>
              <Figures figures={figures} />
            </tr>
          ))}
          <tr class="prediction-all">
            <th scope="row">{words.t("predictions.of-total")}</th>
            <Figures figures={all} />
          </tr>
        </tbody>
      </table>
    </Scroll>
  );
}

function Figures({ figures: { span, agreement, atSafe } }: { figures: Compared }) {
  const words = useWords();
  const { coats, dryingHours, outsideHours, outsideShare, windowsMissed, coveredEarly, waiting } = span;
  const hours = (value: number) => words.t("predictions.hours", { hours: words.number(value, 1) });
  const percent = (ratio: number) => percentOf(Math.log(ratio), words);
  const { fit } = agreement;
  const { found } = atSafe;
  return (
    <>
      <td>{coats}</td>
      <td>{hours(dryingHours)}</td>
      <td>{outsideShare === null ? "–" : `${shareText(outsideShare, words)} (${hours(outsideHours)})`}</td>
      <td>{windowsMissed}</td>
      <td>{coveredEarly}</td>
      <td>{waiting === null ? "–" : durationText(Math.round(waiting.medianMinutes), words)}</td>
      <td>
        {fit === null
          ? words.t("predictions.few")
          : words.t("shops-compared.fit", {
              percent: percent(fit.ratio),
              low: percent(fit.ratioLow),
              high: percent(fit.ratioHigh),
            })}
      </td>
      <td class={found !== null && found.high < promised ? "is-outside" : undefined}>
        {found !== null && found.high < promised && <span aria-hidden="true">▼ </span>}
        {found === null
          ? words.t("predictions.few")
          : words.t("shops-compared.share", {
              percent: shareText(found.share, words),
              low: shareText(found.low, words),
              high: shareText(found.high, words),
            })}
        <small>{words.t("predictions.share-of", { ready: atSafe.ready, count: atSafe.checks })}</small>
      </td>
    </>
  );
}
