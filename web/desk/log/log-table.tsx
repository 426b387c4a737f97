/** The rows of the log. On a phone each is a block, with the name of each figure before it. */
import type { ShopName } from "../../../predictor/serve/office-api.ts";
import type { LogRow } from "../../../predictor/serve/proof-api.ts";
import type { TextKey } from "../../../words/text.ts";
import { stageWord } from "../../parts/coat-words.ts";
import { useWords } from "../../parts/words-context.ts";
import { pageOf, refText } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { deviationName } from "./deviation-words.ts";
import { FileStateMark } from "./file-state.tsx";
import { addressOf, type LogAsk, sortedBy } from "./log-address.ts";

/** With its shop where there are several. */
export type ShownRow = LogRow & { shop?: ShopName };

interface Props {
  rows: readonly ShownRow[];
  ask: LogAsk;
  /** Chosen to be compared, as refText names them; two at most. */
  chosen: readonly string[];
  choose(coat: string, isChosen: boolean): void;
}

interface Column {
  text: TextKey;
  sort: LogAsk["sort"] | null;
}
const shopColumn: Column = { text: "log.shop", sort: "shop" };
const columns: readonly Column[] = [
  { text: "log.finished", sort: "finished" },
  { text: "log.car", sort: "car" },
  { text: "log.panels", sort: null },
  { text: "log.sheet", sort: "sheet" },
  { text: "log.place", sort: "place" },
  { text: "log.who", sort: "who" },
  { text: "log.safe", sort: null },
  { text: "log.air", sort: null },
  { text: "log.humidity", sort: null },
  { text: "log.deviations", sort: "deviations" },
  { text: "log.state", sort: "state" },
];

export function LogTable({ rows, ask, chosen, choose }: Props) {
  const { office } = useDesk();
  const words = useWords();
  const shown = office === null ? columns : [shopColumn, ...columns];
  return (
    <table class="desk-table log-table">
      <thead>
        <tr>
          <th scope="col">
            <span class="unseen">{words.t("log.choose")}</span>
          </th>
          {shown.map(({ text, sort }) =>
            sort === null ? (
              <th key={text} scope="col">
                {words.t(text)}
              </th>
            ) : (
              <SortHead key={text} text={text} sort={sort} ask={ask} />
            ),
          )}
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <Row key={refText(refOfRow(row))} row={row} chosen={chosen} choose={choose} />
        ))}
      </tbody>
    </table>
  );
}

const refOfRow = ({ shop, coat }: ShownRow) => ({ shop: shop?.id ?? null, coat });

function SortHead({ text, sort, ask }: { text: TextKey; sort: LogAsk["sort"]; ask: LogAsk }) {
  const words = useWords();
  const isBy = ask.sort === sort;
  const order = ask.order === "up" ? "ascending" : "descending";
  return (
    <th scope="col" class="sortable" aria-sort={isBy ? order : undefined}>
      <a href={addressOf(sortedBy(ask, sort))}>
        {words.t(text)} <span aria-hidden="true">{isBy ? (ask.order === "up" ? "▲" : "▼") : "·"}</span>
      </a>
    </th>
  );
}

function Row({ row, chosen, choose }: { row: ShownRow } & Pick<Props, "chosen" | "choose">) {
  const { clock, nowMs } = useDesk();
  const words = useWords();
  const ref = refOfRow(row);
  const isChosen = chosen.includes(refText(ref));
  const panels = row.panels.map((name) => words.named("panel", name)).join(", ");
  const finished = words.dateTime(Date.parse(row.finishedAt));
  const { airC, rhPercent } = row;
  const percent = (value: number) => words.number(value, 0);
  return (
    <tr class={isChosen ? "is-chosen" : undefined}>
      <td class="log-choose">
        <input
          type="checkbox"
          checked={isChosen}
          disabled={!isChosen && chosen.length >= 2}
          aria-label={words.t("log.choose-coat", { car: row.car, panels, time: finished })}
          onChange={(event) => choose(refText(ref), event.currentTarget.checked)}
        />
      </td>
      {row.shop !== undefined && <td data-name={words.t("log.shop")}>{row.shop.name}</td>}
      <td data-name={words.t("log.finished")}>{finished}</td>
      <th scope="row">
        <a class="log-open" href={pageOf(ref)}>
          {row.car}
        </a>
        <small>{row.job}</small>
      </th>
      <td data-name={words.t("log.panels")}>{panels}</td>
      <td data-name={words.t("log.sheet")}>
        {row.sheet.name}
        <small>
          {words.t("log.kind-revision", {
            kind: { prefix: "kind", name: row.sheet.kind },
            revision: row.sheet.revision,
          })}
        </small>
      </td>
      <td data-name={words.t("log.place")}>{row.place?.name ?? "–"}</td>
      <td data-name={words.t("log.who")}>{row.who}</td>
      <td data-name={words.t("log.safe")}>
        {row.safeAt === null ? "–" : clock.whenAfter(Date.parse(row.finishedAt), Date.parse(row.safeAt), nowMs)}
        <small>{stageWord(row.releaseStage, words)}</small>
      </td>
      <td data-name={words.t("log.air")}>
        {airC === null ? "–" : words.temperature(airC.mean)}
        {airC !== null && (
          <small>{words.t("span.temperatures", { from: { celsius: airC.min }, to: { celsius: airC.max } })}</small>
        )}
      </td>
      <td data-name={words.t("log.humidity")}>
        {rhPercent === null ? "–" : `${percent(rhPercent.mean)} %`}
        {rhPercent !== null && (
          <small>
            {words.t("span.temperatures", { from: `${percent(rhPercent.min)} %`, to: `${percent(rhPercent.max)} %` })}
          </small>
        )}
      </td>
      <td data-name={words.t("log.deviations")}>
        {row.deviations.length === 0 && words.t("log.no-deviation")}
        {row.deviations.map(({ code, isAnswered }) => (
          <span key={code} class={`log-deviation ${isAnswered ? "is-answered" : "is-open"}`}>
            {deviationName(code, words)} <small>{words.t(isAnswered ? "log.answered" : "log.open")}</small>
          </span>
        ))}
      </td>
      <td data-name={words.t("log.state")}>
        <FileStateMark state={row.state} />
      </td>
    </tr>
  );
}
