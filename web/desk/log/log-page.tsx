/** The log: every coat, narrowed down and ordered as one wants, two of them to be compared. */
import { useRef, useState } from "preact/hooks";
import type { OfficeLogView } from "../../../predictor/serve/office-api.ts";
import type { LogView } from "../../../predictor/serve/proof-api.ts";
import { inChosenLanguage } from "../../parts/device-memory.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { NoAnswer } from "../no-answer.tsx";
import { addressOf, askOf, filters, type LogAsk, queryOf } from "./log-address.ts";
import { LogFilters } from "./log-filters.tsx";
import type { ShownRow } from "./log-table.tsx";
import { LogTable } from "./log-table.tsx";
import "./log.css";

/** Of this shop, or of several. */
type ShownLog = Omit<LogView, "rows" | "pending"> &
  Partial<Pick<LogView, "pending"> & Pick<OfficeLogView, "behind">> & { rows: ShownRow[] };

const pageSize = 50;
/** While figures are still being worked out, one looks again. */
const againMs = 30_000;

export function LogPage() {
  const { search, clock, go } = useDesk();
  const words = useWords();
  const ask = askOf(search);
  const query = queryOf(ask, clock);
  const { answer, failure } = useAsked<ShownLog>(`/api/log?${query}&page=${ask.page}&size=${pageSize}`, againMs);
  // What was shown stays, greyed, until the next answer is there: nothing jumps.
  const before = useRef<ShownLog | null>(null);
  if (answer !== null) before.current = answer;
  const shown = failure === null ? before.current : null;
  const pending = shown?.pending ?? 0;
  const [chosen, setChosen] = useState<readonly string[]>([]);
  const choose = (coat: string, isChosen: boolean) =>
    setChosen((coats) => (isChosen ? [...coats, coat] : coats.filter((each) => each !== coat)));
  return (
    <DeskPage
      title={words.t("log.title")}
      actions={
        <a class="desk-button" href={inChosenLanguage(`/api/log.csv?${query}`)} download>
          {words.t("log.csv")}
        </a>
      }
    >
      <LogFilters ask={ask} choices={before.current?.choices ?? null} change={(next) => go(addressOf(next))} />
      {failure !== null && <Failed failure={failure} />}
      {failure === null && shown === null && <p role="status">{words.t("page.looking")}</p>}
      {shown !== null && (
        <div class={answer === null ? "log-shown is-old" : "log-shown"} aria-busy={answer === null}>
          <Behind shops={shown.behind ?? []} />
          <div class="log-bar">
            <p role="status">
              {words.t("log.total", { total: shown.total })}
              {pending > 0 && ` ${words.t("log.pending", { count: pending })}`}
            </p>
            {shown.total > 1 && <Compare chosen={chosen} clear={() => setChosen([])} />}
          </div>
          {shown.rows.length === 0 ? (
            <Empty ask={ask} log={shown} />
          ) : (
            <LogTable rows={shown.rows} ask={ask} chosen={chosen} choose={choose} />
          )}
          {shown.rows.length > 0 && <p class="caution">{words.t("caution.ready")}</p>}
          <Pages ask={ask} pages={shown.pages} />
        </div>
      )}
    </DeskPage>
  );
}

/** Of a head office: whose coats may stand otherwise by now. */
function Behind({ shops }: { shops: OfficeLogView["behind"] }) {
  const words = useWords();
  if (shops.length === 0) return null;
  const named = shops.map(({ name, state }) =>
    words.t("office.behind-shop", { name, state: words.t(`shops.state-${state}`) }),
  );
  return (
    <p class="is-outside">
      {words.t("office.behind", { count: shops.length, shops: named.join(", ") })}{" "}
      <a href="/shops">{words.t("desk.shops")}</a>
    </p>
  );
}

function Failed({ failure }: { failure: string }) {
  const { search } = useDesk();
  const words = useWords();
  return (
    <NoAnswer failure={failure}>
      {search !== "" && (
        <a class="desk-button" href="/log">
          {words.t("log.clear")}
        </a>
      )}
    </NoAnswer>
  );
}

function Empty({ ask, log }: { ask: LogAsk; log: ShownLog }) {
  const words = useWords();
  if (log.total > 0) {
    return (
      <div class="desk-notice">
        <p>{words.t("log.no-such-page")}</p>
        <a class="desk-button" href={addressOf({ ...ask, page: 1 })}>
          {words.t("log.first-page")}
        </a>
      </div>
    );
  }
  const isFiltered = filters.some((name) => ask.by[name] !== "");
  return (
    <div class="desk-notice">
      <p>{words.t(isFiltered ? "log.none-fits" : "log.none")}</p>
      {isFiltered && (
        <a class="desk-button" href="/log">
          {words.t("log.clear")}
        </a>
      )}
    </div>
  );
}

function Compare({ chosen, clear }: { chosen: readonly string[]; clear(): void }) {
  const words = useWords();
  if (chosen.length === 0) return <p class="hint log-compare">{words.t("log.choose-two")}</p>;
  return (
    <p class="log-compare">
      {chosen.length === 1 ? (
        <span>{words.t("log.choose-another")}</span>
      ) : (
        <a
          class="desk-button desk-button-main"
          href={`/log/compare?${new URLSearchParams({ coats: chosen.join(",") })}`}
        >
          {words.t("log.compare")}
        </a>
      )}
      <button type="button" class="desk-button" onClick={clear}>
        {words.t("log.choose-none")}
      </button>
    </p>
  );
}

function Pages({ ask, pages }: { ask: LogAsk; pages: number }) {
  const words = useWords();
  if (pages < 2) return null;
  const to = (page: number, text: string) =>
    page >= 1 && page <= pages ? (
      <a class="desk-button" href={addressOf({ ...ask, page })}>
        {text}
      </a>
    ) : null;
  return (
    <nav class="log-pages" aria-label={words.t("log.pages")}>
      {to(ask.page - 1, words.t("log.page-before"))}
      <span>{words.t("log.page-of", { page: ask.page, pages })}</span>
      {to(ask.page + 1, words.t("log.page-after"))}
    </nav>
  );
}
