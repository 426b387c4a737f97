/** What the log is narrowed down by. Each choice is taken at once, and stands in the address. */
import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { LogView } from "../../../predictor/serve/proof-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { deviationCodes, deviationName } from "./deviation-words.ts";
import { fileStates } from "./file-state.tsx";
import { type Filter, filters, type LogAsk, withFilter } from "./log-address.ts";

interface Props {
  ask: LogAsk;
  /** Null until the first answer came. */
  choices: LogView["choices"] | null;
  change(ask: LogAsk): void;
}

type Choice = readonly [value: string, text: string];

/** So long after the last letter a name is looked for. */
const typedMs = 350;
const wide = "(min-width: 701px)";

export function LogFilters({ ask, choices, change }: Props) {
  const { places: ownPlaces, office } = useDesk();
  const words = useWords();
  const [isOpen] = useState(() => matchMedia(wide).matches);
  const places = office === null ? ownPlaces : (office.find(({ id }) => id === ask.by.shop)?.places ?? []);
  const inUse = filters.filter((name) => ask.by[name] !== "").length;
  const pick = (name: Filter, options: readonly Choice[]) => (
    <Labelled text={words.t(`log.by-${name}`)}>
      <select
        class="desk-field"
        value={ask.by[name]}
        onChange={(event) => change(withFilter(ask, name, event.currentTarget.value))}
      >
        <option value="">{words.t("log.all")}</option>
        {withChosen(options, ask.by[name]).map(([value, text]) => (
          <option key={value} value={value}>
            {text}
          </option>
        ))}
      </select>
    </Labelled>
  );
  const day = (name: "from" | "to") => (
    <Labelled text={words.t(`log.by-${name}`)}>
      <input
        class="desk-field"
        type="date"
        value={ask.by[name]}
        onChange={(event) => change(withFilter(ask, name, event.currentTarget.value))}
      />
    </Labelled>
  );
  return (
    <details class="log-filters" open={isOpen}>
      <summary>{words.t("log.filters", { count: inUse })}</summary>
      <search aria-label={words.t("log.filters", { count: inUse })}>
        {office !== null &&
          pick(
            "shop",
            office.map(({ id, name }): Choice => [id, name]),
          )}
        {day("from")}
        {day("to")}
        <Typed text={ask.by.car} change={(car) => change(withFilter(ask, "car", car))} />
        {pick(
          "panel",
          (choices?.panels ?? []).map((name): Choice => [name, words.named("panel", name)]),
        )}
        {pick(
          "sheet",
          (choices?.sheets ?? []).map(({ id, name }): Choice => [id, name]),
        )}
        {places.length > 0 &&
          pick(
            "place",
            places.map(({ id, name }): Choice => [id, name]),
          )}
        {pick(
          "who",
          (choices?.people ?? []).map((name): Choice => [name, name]),
        )}
        {pick("deviation", [
          ["any", words.t("log.deviation-any")],
          ["open", words.t("log.deviation-open")],
          ...deviationCodes.map((code): Choice => [code, deviationName(code, words)]),
        ])}
        {pick(
          "state",
          fileStates.map((state): Choice => [state, words.t(`log.state-${state}`)]),
        )}
        {inUse > 0 && (
          <a class="desk-button" href="/log">
            {words.t("log.clear")}
          </a>
        )}
      </search>
    </details>
  );
}

/** What stands in the address stays in sight where no coat has it any more, or the choices are still on their way. */
const withChosen = (options: readonly Choice[], chosen: string): readonly Choice[] =>
  chosen === "" || options.some(([value]) => value === chosen) ? options : [[chosen, chosen], ...options];

function Labelled({ text, children }: { text: string; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noLabelWithoutControl: the field is its child
    <label class="desk-labelled">
      <span>{text}</span>
      {children}
    </label>
  );
}

/** A car's name or job, looked for when no more letters come. */
function Typed({ text, change }: { text: string; change(text: string): void }) {
  const words = useWords();
  const [typed, setTyped] = useState(text);
  useEffect(() => setTyped(text), [text]);
  useEffect(() => {
    if (typed.trim() === text) return;
    const timer = setTimeout(() => change(typed.trim()), typedMs);
    return () => clearTimeout(timer);
    // Only what is typed starts the wait anew.
  }, [typed]);
  return (
    <Labelled text={words.t("log.by-car")}>
      <input
        class="desk-field"
        type="search"
        maxLength={60}
        value={typed}
        onInput={(event) => setTyped(event.currentTarget.value)}
      />
    </Labelled>
  );
}
