/** May I spray this, here: each limit with its value, margin and source, now and in the next hours. */
import { useEffect, useState } from "preact/hooks";
import type { Place, Verdict } from "../../../predictor/serve/api.ts";
import type { SprayOutlook } from "../../../predictor/serve/work-api.ts";
import { VerdictShape } from "../../parts/shapes.tsx";
import { useWords } from "../../parts/words-context.ts";
import { AskFault, ask } from "../core/ask.ts";
import { Choice, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { limitWords } from "./limit-words.ts";
import "./work.css";

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
  const { outlook, failure } = useOutlook(place?.id, sheet?.id, words.language);

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

/** Asked anew twice a minute: the air moves. */
function useOutlook(place: string | undefined, sheet: string | undefined, language: string) {
  const [answer, setAnswer] = useState<{ outlook: SprayOutlook | null; failure: string | null }>({
    outlook: null,
    failure: null,
  });
  useEffect(() => {
    setAnswer({ outlook: null, failure: null });
    if (place === undefined || sheet === undefined) return;
    let ended = false;
    const path = `/api/spray-check?${new URLSearchParams({ place, sheet })}`;
    const look = () =>
      ask<SprayOutlook>(path).then(
        (outlook) => {
          if (!ended) setAnswer({ outlook, failure: null });
        },
        (error: unknown) => {
          // An answer of some minutes ago is no answer for a gun in the hand.
          if (!ended) setAnswer({ outlook: null, failure: error instanceof AskFault ? error.detail : String(error) });
        },
      );
    void look();
    const again = setInterval(() => void look(), askAgainMs);
    return () => {
      ended = true;
      clearInterval(again);
    };
  }, [place, sheet, language]);
  return answer;
}
