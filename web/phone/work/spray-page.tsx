/** May I spray this, here: each limit with its value, margin and source, now and in the next hours. */
import { useState } from "preact/hooks";
import type { Place, PlaceView, Verdict } from "../../../predictor/serve/api.ts";
import type { SprayOutlook } from "../../../predictor/serve/work-api.ts";
import { limitWords } from "../../parts/limit-words.ts";
import { VerdictShape } from "../../parts/shapes.tsx";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { startByWords } from "../../parts/work-ahead.ts";
import { Choice, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import "./work.css";

/** An answer of some minutes ago is none for a gun in the hand. */
const askAgainMs = 30_000;

/** Where one sprays: booths and prep bays first, for who picks with a glove. */
export function sprayPlaces(places: readonly Place[]): Place[] {
  return places.filter(({ kind }) => kind === "booth" || kind === "prep");
}

export function SprayPage() {
  const { cars, sheets, nowMs, clock } = useShell();
  const words = useWords();
  const asked = new URLSearchParams(location.search);
  const [placeId, setPlaceId] = useState(asked.get("place"));
  const [sheetId, setSheetId] = useState(asked.get("sheet"));
  const places = sprayPlaces(cars?.places ?? []);
  const place = places.find(({ id }) => id === placeId) ?? places[0];
  const sheet = sheets.find(({ id }) => id === sheetId) ?? sheets[0];
  const isAsked = place !== undefined && sheet !== undefined;
  const path = isAsked ? `/api/spray-check?${new URLSearchParams({ place: place.id, sheet: sheet.id })}` : null;
  const { answer: outlook, failure } = useAsked<SprayOutlook>(path, askAgainMs);
  const { answer: wall } = useAsked<PlaceView>(isAsked ? `/api/places/${place.id}/wall` : null, askAgainMs);

  return (
    <Page title={words.t("spray.title")} back="/">
      {cars !== null && place === undefined && <p class="work-empty">{words.t("spray.no-place")}</p>}
      {place !== undefined && (
        <Choice
          label={words.t("spray.where")}
          options={places.map(({ id, name }) => ({ value: id, text: name }))}
          value={place.id}
          onChange={setPlaceId}
        />
      )}
      {sheet !== undefined && (
        <label class="work-pick">
          <span>{words.t("spray.what")}</span>
          <select value={sheet.id} onChange={(event) => setSheetId(event.currentTarget.value)}>
            {sheets.map(({ id, name, kind }) => (
              <option key={id} value={id}>
                {`${words.named("kind", kind)}: ${name}`}
              </option>
            ))}
          </select>
        </label>
      )}
      {failure !== null && (
        <p class="work-failure" role="alert">
          {failure}
        </p>
      )}
      {outlook === null && failure === null && <p role="status">{words.t("spray.loading")}</p>}
      {outlook !== null && clock !== null && (
        <>
          <Answer state={outlook.now.state} reason={outlook.reason} />
          {wall !== null && sheet !== undefined && <StartBy wall={wall} sheet={sheet.id} />}
          <Limits outlook={outlook} />
          <section class="work-ahead">
            <h2>{words.t("spray.ahead")}</h2>
            {outlook.ahead.length === 0 ? (
              <p>{words.t("spray.no-ahead")}</p>
            ) : (
              <>
                <ol>
                  {outlook.ahead.map(({ at, state, worst }) => (
                    <li key={at} class={`ahead ahead-${state.replaceAll(" ", "-")}`}>
                      <b>{clock.when(Date.parse(at), nowMs)}</b>
                      <VerdictShape state={state} />
                      <span>
                        {words.named("verdict", state)}
                        {worst !== "" && <small> {worst}</small>}
                      </span>
                    </li>
                  ))}
                </ol>
                <p class="work-how">{words.t("spray.ahead-how")}</p>
              </>
            )}
          </section>
          <section class="work-cautions">
            <h2>{words.t("spray.cautions")}</h2>
            <ul>
              {outlook.cautions.map((caution) => (
                <li key={caution}>{caution}</li>
              ))}
              <li>
                {outlook.clearanceMinutes === null
                  ? words.t("spray.clearance-unknown")
                  : words.t("spray.clearance", { minutes: outlook.clearanceMinutes })}
              </li>
              <li>{words.t("spray.not-interlock")}</li>
            </ul>
            <p class="work-how">{words.t("spray.recorded")}</p>
          </section>
        </>
      )}
    </Page>
  );
}

function Answer({ state, reason }: { state: Verdict["state"]; reason: string }) {
  const words = useWords();
  return (
    <div class={`work-verdict verdict-${state.replaceAll(" ", "-")}`} role="status">
      <VerdictShape state={state} />
      <p>
        <b>{words.named("verdict", state)}</b>
        <span>{reason}</span>
      </p>
    </div>
  );
}

/** By when to be finished, here and elsewhere, for what the coat waits for today. */
function StartBy({ wall, sheet }: { wall: PlaceView; sheet: string }) {
  const { clock, nowMs } = useShell();
  if (clock === null) return null;
  const ofSheet = { ...wall, startBy: wall.startBy.filter((each) => each.sheet.id === sheet) };
  return (
    <>
      {startByWords(ofSheet, clock, nowMs).map(({ id, question, answers }) => (
        <p key={id} class="work-about">
          {question}{" "}
          {answers.map(({ place, time, word }) => (
            <span key={place}>
              {time !== null && <b>{time}</b>} {[place, word].filter(Boolean).join(" ")}{" "}
            </span>
          ))}
        </p>
      ))}
    </>
  );
}

function Limits({ outlook }: { outlook: SprayOutlook }) {
  const words = useWords();
  return (
    <section class="work-limits">
      <h2>{words.t("spray.limits")}</h2>
      <ul>
        {outlook.now.limits.map((limit) => {
          const { name, value, bounds, margin, source } = limitWords(limit, words);
          return (
            <li key={limit.what} class={`limit limit-${limit.state.replaceAll(" ", "-")}`}>
              <span class="limit-name">{name}</span>
              <b class="limit-value">{value}</b>
              <span class="limit-margin">{margin}</span>
              <span class="limit-bounds">{`${bounds} (${source})`}</span>
            </li>
          );
        })}
      </ul>
    </section>
  );
}
