/** The shops of a head office: how far the copy of each goes, and which of them want a look. */
import type { Held, HeldShopsView } from "../../../predictor/serve/office-api.ts";
import { GateShape, StateShape } from "../../parts/shapes.tsx";
import { ageText, msOf } from "../../parts/shop-clock.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { NoAnswer } from "../no-answer.tsx";
import "./shops.css";

const againMs = 30_000;

export function ShopsPage() {
  const words = useWords();
  const { answer, failure } = useAsked<HeldShopsView>("/api/shops", againMs);
  return (
    <DeskPage title={words.t("shops.title")}>
      <p class="hint">{words.t("shops.intro")}</p>
      {failure !== null && <NoAnswer failure={failure} />}
      {failure === null && answer === null && <p role="status">{words.t("page.looking")}</p>}
      {answer !== null && <Shops shops={answer.shops} />}
    </DeskPage>
  );
}

function Shops({ shops }: { shops: readonly Held[] }) {
  const words = useWords();
  const wanting = shops.filter(({ state }) => state !== "up-to-date").length;
  if (shops.length === 0) return <p>{words.t("shops.none")}</p>;
  return (
    <>
      <p role="status" class={wanting === 0 ? "shops-sum" : "shops-sum is-outside"}>
        {wanting === 0
          ? words.t("shops.all-well", { count: shops.length })
          : words.t("shops.need-look", { count: wanting, all: shops.length })}
      </p>
      <table class="desk-table shops-table">
        <thead>
          <tr>
            <th scope="col">{words.t("shops.shop")}</th>
            <th scope="col">{words.t("shops.state")}</th>
            <th scope="col">{words.t("shops.heard")}</th>
            <th scope="col">{words.t("shops.entries")}</th>
            <th scope="col">{words.t("shops.readings")}</th>
            <th scope="col">{words.t("shops.coats")}</th>
            <td />
          </tr>
        </thead>
        <tbody>
          {shops.map((held) => (
            <Row key={held.id} held={held} />
          ))}
        </tbody>
      </table>
      <p class="caution">{words.t("caution.ready")}</p>
    </>
  );
}

function Row({ held }: { held: Held }) {
  const { nowMs } = useDesk();
  const words = useWords();
  const { id, name, invented, state, lastHeardAt, entries, lastEntryAt, readingsUntil, coats, fault } = held;
  const when = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? "–" : words.when(ms, nowMs);
  };
  const shop = encodeURIComponent(id);
  return (
    <tr class={`shops-${state}`}>
      <th scope="row">
        {name}
        {invented && <small>{words.t("shops.invented")}</small>}
      </th>
      <td data-name={words.t("shops.state")}>
        <b class="shops-state">
          <Shape state={state} /> {words.t(`shops.state-${state}`)}
        </b>
        <Means held={held} />
        {fault !== null && <small>{words.t("shops.fault", { fault })}</small>}
      </td>
      <td data-name={words.t("shops.heard")}>{when(lastHeardAt)}</td>
      <td data-name={words.t("shops.entries")}>
        {words.number(entries, 0)}
        {lastEntryAt !== null && <small>{words.t("shops.last-entry", { time: when(lastEntryAt) })}</small>}
      </td>
      <td data-name={words.t("shops.readings")}>{when(readingsUntil)}</td>
      <td data-name={words.t("shops.coats")}>{words.number(coats, 0)}</td>
      <td class="shops-links">
        {coats > 0 && (
          <>
            <a class="desk-button" href={`/log?shop=${shop}`} aria-label={`${words.t("shops.to-log")}: ${name}`}>
              {words.t("shops.to-log")}
            </a>
            <a
              class="desk-button"
              href={`/predictions?shop=${shop}`}
              aria-label={`${words.t("shops.to-predictions")}: ${name}`}
            >
              {words.t("shops.to-predictions")}
            </a>
          </>
        )}
      </td>
    </tr>
  );
}

/** What a state means, and what to do about it. */
function Means({ held: { state, lastHeardAt } }: { held: Held }) {
  const { nowMs } = useDesk();
  const words = useWords();
  if (state === "up-to-date") return null;
  if (state === "doubtful") return <p>{words.t("shops.doubtful-means")}</p>;
  if (state === "waiting") return <p>{words.t("shops.waiting-means")}</p>;
  const heardMs = msOf(lastHeardAt);
  if (heardMs === null) return <p>{words.t("shops.silent-start")}</p>;
  return <p>{words.t("shops.silent-means", { age: ageText(nowMs - heardMs, words) })}</p>;
}

/** Told apart by shape, too: done, under way, not begun, shut. */
function Shape({ state }: { state: Held["state"] }) {
  if (state === "up-to-date") return <StateShape mark="ready" />;
  if (state === "silent") return <StateShape mark="check first" />;
  return state === "waiting" ? <StateShape mark="not yet" /> : <GateShape state="missed" />;
}
