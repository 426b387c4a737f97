/** A car comes in: its job, the colour of its card, its panels, and where it stands. */
import { useState } from "preact/hooks";
import type { CarView } from "../../../predictor/serve/api.ts";
import { newId } from "../../parts/new-id.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { nextInstantOf } from "../coats/instants.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Choice, Page, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { type CardColour, CardSwatch, cardColours } from "./card-swatch.tsx";
import { outline } from "./outline.ts";
import { PanelOutline } from "./panel-outline.tsx";
import "./cars.css";

type Panel = CarView["panels"][number];
const substrates = ["steel", "aluminium", "plastic"] as const satisfies readonly Panel["substrate"][];

export function NewCarPage() {
  const { cars, clock, nowMs, go } = useShell();
  const words = useWords();
  const { answer } = useAsked<{ panels: Panel[] }>("/api/panels");
  const known = answer?.panels ?? outline;
  const [job, setJob] = useState("");
  const [name, setName] = useState("");
  const [colour, setColour] = useState<CardColour | null>(null);
  const [panels, setPanels] = useState<Panel[]>([]);
  const [other, setOther] = useState("");
  const [placeId, setPlaceId] = useState<string | null>(null);
  const [promised, setPromised] = useState("");
  const [entered, setEntered] = useState<Entered | null>(null);
  const places = (cars?.places ?? []).filter(({ kind }) => kind !== "mixing");
  const place = places.find(({ id }) => id === placeId) ?? places.find(({ kind }) => kind === "prep") ?? places[0];
  const isReady = job.trim() !== "" && panels.length > 0 && place !== undefined;

  const toggle = (panel: string) => {
    const usual = known.find((each) => each.name === panel)?.substrate ?? "steel";
    setPanels(
      panels.some((each) => each.name === panel)
        ? panels.filter((each) => each.name !== panel)
        : [...panels, { name: panel, substrate: usual }],
    );
  };
  const addOther = () => {
    const named = other.trim();
    if (named !== "" && !panels.some((each) => each.name === named)) {
      setPanels([...panels, { name: named, substrate: "steel" }]);
    }
    setOther("");
  };
  const send = async () => {
    if (place === undefined) return;
    const id = newId();
    const promisedAtMs = clock === null ? null : nextInstantOf(promised, nowMs, clock);
    const body = {
      id,
      job: job.trim(),
      name: name.trim() === "" ? job.trim() : name.trim(),
      place: place.id,
      at: new Date(nowMs).toISOString(),
      panels,
      ...(colour === null ? {} : { colour }),
      ...(promisedAtMs === null ? {} : { promisedAt: new Date(promisedAtMs).toISOString() }),
    };
    const result = await enter({
      method: "POST",
      path: "/api/cars",
      body,
      label: words.t("new-car.entry", { job: body.job }),
    });
    if (result.state === "sent") go(`/cars/${id}`);
    else setEntered(result);
  };
  return (
    <Page
      title={words.t("cars.new")}
      back="/"
      actions={
        <ActionButton
          kind="main"
          disabled={!isReady || (entered !== null && entered.state !== "refused")}
          onClick={() => void send()}
        >
          {words.t(isReady ? "new-car.take-in" : "new-car.missing")}
        </ActionButton>
      }
    >
      {entered !== null && <SaidAs result={entered} />}
      <label class="work-pick">
        <span>{words.t("new-car.job")}</span>
        <input value={job} maxLength={40} autocomplete="off" onInput={(event) => setJob(event.currentTarget.value)} />
      </label>
      <section>
        <h2>{words.t("mix.panels")}</h2>
        <PanelOutline panels={known} chosen={panels.map((panel) => panel.name)} onToggle={toggle} words={words} />
        {panels.length > 0 && (
          <ul class="chosen-panels">
            {panels.map((panel) => (
              <li key={panel.name}>
                <b>{words.named("panel", panel.name)}</b>
                <div class="chips">
                  {substrates.map((substrate) => (
                    <button
                      key={substrate}
                      type="button"
                      aria-pressed={panel.substrate === substrate}
                      onClick={() =>
                        setPanels(panels.map((each) => (each.name === panel.name ? { ...each, substrate } : each)))
                      }
                    >
                      {words.t(`substrate.${substrate}`)}
                    </button>
                  ))}
                  <button type="button" onClick={() => toggle(panel.name)}>
                    {words.t("new-car.take-away")}
                  </button>
                </div>
              </li>
            ))}
          </ul>
        )}
        <div class="work-row">
          <label class="work-pick">
            <span>{words.t("new-car.other-panel")}</span>
            <input value={other} maxLength={60} onInput={(event) => setOther(event.currentTarget.value)} />
          </label>
          {other.trim() !== "" && <ActionButton onClick={addOther}>{words.t("new-car.add-panel")}</ActionButton>}
        </div>
      </section>
      {place !== undefined && (
        <Choice
          label={words.t("move.title")}
          options={places.map((each) => ({ value: each.id, text: each.name }))}
          value={place.id}
          onChange={(value) => setPlaceId(value)}
        />
      )}
      <details class="more">
        <summary>{words.t("new-car.more")}</summary>
        <label class="work-pick">
          <span>{words.t("new-car.name")}</span>
          <input value={name} maxLength={80} onInput={(event) => setName(event.currentTarget.value)} />
        </label>
        <fieldset class="swatches">
          <legend>{words.t("new-car.colour")}</legend>
          {cardColours.map((each) => (
            <button
              key={each}
              type="button"
              aria-pressed={colour === each}
              onClick={() => setColour(colour === each ? null : each)}
            >
              <CardSwatch colour={each} />
            </button>
          ))}
        </fieldset>
        <label class="work-pick">
          <span>{words.t("car.promise")}</span>
          <input type="time" value={promised} onInput={(event) => setPromised(event.currentTarget.value)} />
        </label>
      </details>
    </Page>
  );
}
