/** How much to mix for some panels, and the pots that stand mixed. Mixing starts the pot's clock. */
import { useEffect, useState } from "preact/hooks";
import type { PotView, SheetView } from "../../../predictor/serve/api.ts";
import type { MixQuantity } from "../../../predictor/serve/work-api.ts";
import { AskFault, ask } from "../../parts/ask.ts";
import { PotShape } from "../../parts/shapes.tsx";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { PanelOutline } from "../cars/panel-outline.tsx";
import { proposedPanels, proposedSheets } from "../coats/proposals.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Page, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { type MixChoice, mixBody, mixQuestion } from "./mix-entry.ts";
import "./work.css";

const askAgainMs = 30_000;

export function MixPage() {
  const { cars, sheets, nowMs } = useShell();
  const words = useWords();
  const asked = new URLSearchParams(location.search);
  const car = cars?.cars.find(({ id }) => id === asked.get("car"));
  const offered = car === undefined ? sheets : proposedSheets(sheets, car, proposedPanels(car), cars);
  const mixed = offered.filter(
    ({ mix, potLifeMinutesAt20C, squareMetresPerWipe }) =>
      mix !== undefined || potLifeMinutesAt20C !== undefined || squareMetresPerWipe !== undefined,
  );
  const [choice, setChoice] = useState<MixChoice>({
    sheetId: asked.get("sheet"),
    panels: car === undefined ? [] : proposedPanels(car),
    areaM2: "",
    byArea: car === undefined,
    coats: "",
    filmUm: "",
  });
  const change = (part: Partial<MixChoice>) => setChoice((now) => ({ ...now, ...part }));
  const sheet = mixed.find(({ id }) => id === choice.sheetId) ?? mixed[0];
  const { quantity, failure } = useQuantity(sheet, choice, words.language);
  const [batches, setBatches] = useState<Record<string, string>>({});
  const [entered, setEntered] = useState<Entered | null>(null);
  const { answer: open, look } = useAsked<{ pots: PotView[] }>("/api/mixes", askAgainMs);

  const mix = async () => {
    if (sheet === undefined) return;
    const what = words.named("kind", sheet.kind);
    const body = mixBody(sheet.id, quantity, batches, nowMs);
    setEntered(await enter({ method: "POST", path: "/api/mixes", body, label: words.t("mix.entry", { what }) }));
    look();
  };
  return (
    <Page
      title={words.t("mix.title")}
      back={car === undefined ? "/" : `/cars/${car.id}`}
      actions={
        sheet?.potLifeMinutesAt20C === undefined ? undefined : (
          <ActionButton kind="main" onClick={() => void mix()}>
            {words.t("mix.mixed")}
          </ActionButton>
        )
      }
    >
      {sheet !== undefined && (
        <label class="work-pick">
          <span>{words.t("mix.what")}</span>
          <select value={sheet.id} onChange={(event) => change({ sheetId: event.currentTarget.value })}>
            {mixed.map(({ id, name, kind }) => (
              <option key={id} value={id}>
                {`${words.named("kind", kind)}: ${name}`}
              </option>
            ))}
          </select>
        </label>
      )}
      {choice.byArea || car === undefined ? (
        <NumberField label={words.t("mix.area")} value={choice.areaM2} onChange={(areaM2) => change({ areaM2 })} />
      ) : (
        <section class="work-panels" aria-label={words.t("mix.panels")}>
          <PanelOutline
            panels={car.panels}
            chosen={choice.panels}
            onToggle={(name) =>
              change({
                panels: choice.panels.includes(name)
                  ? choice.panels.filter((each) => each !== name)
                  : [...choice.panels, name],
              })
            }
            words={words}
          />
        </section>
      )}
      {car !== undefined && (
        <button type="button" class="work-switch" onClick={() => change({ byArea: !choice.byArea })}>
          {words.t(choice.byArea ? "mix.panels-instead" : "mix.area-instead")}
        </button>
      )}
      <div class="work-row">
        <NumberField
          label={words.t("mix.coats")}
          value={choice.coats}
          placeholder={sheet?.usualCoats?.toString()}
          onChange={(coats) => change({ coats })}
        />
        <NumberField
          label={words.t("mix.film")}
          value={choice.filmUm}
          placeholder={sheet?.film.dryUm.toString()}
          onChange={(filmUm) => change({ filmUm })}
        />
      </div>
      <Amounts sheet={sheet} quantity={quantity} failure={failure} />
      {quantity !== null && quantity.components.length > 0 && (
        <fieldset class="work-batches">
          <legend>{words.t("mix.batches")}</legend>
          {quantity.components.map(({ component }) => (
            <label key={component} class="work-pick">
              <span>{words.t("mix.batch-of", { component: words.named("component", component) })}</span>
              <input
                value={batches[component] ?? ""}
                maxLength={60}
                autocomplete="off"
                onInput={(event) => setBatches({ ...batches, [component]: event.currentTarget.value })}
              />
            </label>
          ))}
        </fieldset>
      )}
      <p class="work-caution">{words.t("mix.caution")}</p>
      {sheet !== undefined && sheet.potLifeMinutesAt20C === undefined && <p>{words.t("mix.no-pot-life")}</p>}
      {entered !== null && <SaidAs result={entered} />}
      <Pots pots={open?.pots ?? null} look={look} />
    </Page>
  );
}

interface NumberFieldProps {
  label: string;
  value: string;
  placeholder?: string | undefined;
  onChange(value: string): void;
}

function NumberField({ label, value, placeholder, onChange }: NumberFieldProps) {
  return (
    <label class="work-pick">
      <span>{label}</span>
      <input
        inputMode="decimal"
        value={value}
        placeholder={placeholder}
        onInput={(event) => onChange(event.currentTarget.value)}
      />
    </label>
  );
}

interface AmountsProps {
  sheet: SheetView | undefined;
  quantity: MixQuantity | null;
  failure: string | null;
}

function Amounts({ sheet, quantity, failure }: AmountsProps) {
  const words = useWords();
  return (
    <section class="work-amounts" aria-live="polite">
      <h2>{words.t("mix.result")}</h2>
      {failure !== null && (
        <p class="work-failure" role="alert">
          {failure}
        </p>
      )}
      {quantity === null && failure === null && <p>{words.t("mix.nothing")}</p>}
      {quantity !== null && (
        <>
          {quantity.wipes !== null && <p class="work-sum">{words.t("mix.wipes", { count: quantity.wipes })}</p>}
          {quantity.components.length > 0 && (
            <>
              <ul>
                {quantity.components.map(({ component, litres }) => (
                  <li key={component}>
                    <b>{words.t("mix.litres", { litres })}</b> {words.named("component", component)}
                  </li>
                ))}
              </ul>
              <p class="work-sum">
                {words.t("mix.sum", { litres: quantity.litres })}
                {" · "}
                {quantity.potLitres === null
                  ? words.t("mix.pot-none")
                  : words.t("mix.pot", { litres: quantity.potLitres })}
              </p>
            </>
          )}
          {sheet?.mixRatio !== undefined && <p>{words.t("mix.ratio", { ratio: sheet.mixRatio })}</p>}
          <details>
            <summary>{words.t("mix.assumed")}</summary>
            <ul>
              {quantity.assumptions.map((assumption) => (
                <li key={assumption}>{assumption}</li>
              ))}
            </ul>
          </details>
        </>
      )}
    </section>
  );
}

function Pots({ pots, look }: { pots: readonly PotView[] | null; look: () => void }) {
  const { clock, nowMs } = useShell();
  const words = useWords();
  const [entered, setEntered] = useState<Entered | null>(null);
  if (pots === null || clock === null) return null;
  const empty = async (pot: PotView) => {
    const label = words.t("mix.entry-emptied", { what: words.named("kind", pot.sheet.kind) });
    const body = { at: new Date(nowMs).toISOString() };
    setEntered(await enter({ method: "POST", path: `/api/mixes/${pot.id}/emptied`, body, label }));
    look();
  };
  return (
    <section class="work-pots">
      <h2>{words.t("mix.open")}</h2>
      {pots.length === 0 && <p>{words.t("mix.open-none")}</p>}
      <ul>
        {pots.map((pot) => {
          const useBy = pot.useBy === null ? "" : clock.when(Date.parse(pot.useBy), nowMs);
          const kind = words.named("kind", pot.sheet.kind);
          return (
            <li key={pot.id} class={`pot pot-${pot.state}`}>
              <PotShape state={pot.state} />
              <p>
                <b>{words.t("mix.pot-line", { kind, time: clock.when(Date.parse(pot.mixedAt), nowMs) })}</b>
                <span>
                  {pot.state === "over"
                    ? words.t("mix.over", { time: useBy })
                    : useBy === ""
                      ? words.t("mix.unknown")
                      : words.t("mix.use-by", { time: useBy })}
                </span>
              </p>
              <button type="button" class="work-switch" onClick={() => void empty(pot)}>
                {words.t("mix.emptied")}
              </button>
            </li>
          );
        })}
      </ul>
      {entered !== null && <SaidAs result={entered} />}
    </section>
  );
}

/** The amounts for what is chosen; null while nothing is, or while they are reckoned. */
function useQuantity(sheet: SheetView | undefined, choice: MixChoice, language: string) {
  const [answer, setAnswer] = useState<{ quantity: MixQuantity | null; failure: string | null }>({
    quantity: null,
    failure: null,
  });
  const question = sheet === undefined ? null : mixQuestion(sheet.id, choice);
  const asked = question === null ? null : JSON.stringify(question);
  useEffect(() => {
    setAnswer({ quantity: null, failure: null });
    if (asked === null) return;
    let ended = false;
    ask<MixQuantity>("/api/mix-quantity", JSON.parse(asked) as object).then(
      (quantity) => {
        if (!ended) setAnswer({ quantity, failure: null });
      },
      (error: unknown) => {
        if (!ended) setAnswer({ quantity: null, failure: error instanceof AskFault ? error.detail : String(error) });
      },
    );
    return () => {
      ended = true;
    };
  }, [asked, language]);
  return answer;
}
