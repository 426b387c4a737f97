/** A coat is finished: panels, sheet, finished. Three taps, and the time is now. */
import { useState } from "preact/hooks";
import type { CarView, SheetView } from "../../../predictor/serve/api.ts";
import type { SprayOutlook } from "../../../predictor/serve/work-api.ts";
import { VerdictShape } from "../../parts/shapes.tsx";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { PanelOutline } from "../cars/panel-outline.tsx";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Page, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { typed } from "../work/mix-entry.ts";
import { CoatSays } from "./coat-brief.tsx";
import { NoSuch } from "./no-such.tsx";
import { proposedPanels, proposedSheets } from "./proposals.ts";
import { Stages } from "./stages.tsx";
import { When } from "./when.tsx";
import "./coats.css";

export function FinishPage({ carId }: { carId: string }) {
  const { cars } = useShell();
  const car = cars?.cars.find(({ id }) => id === carId);
  return car === undefined ? <NoSuch isLoading={cars === null} /> : <Finish car={car} />;
}

function Finish({ car }: { car: CarView }) {
  const { cars, sheets, nowMs, clock } = useShell();
  const words = useWords();
  const [panels, setPanels] = useState(() => proposedPanels(car));
  const [step, setStep] = useState<"panels" | "sheet" | "finish">("panels");
  const [sheet, setSheet] = useState<SheetView | null>(null);
  const [atMs, setAtMs] = useState<number | null>(null);
  const [film, setFilm] = useState({ wetUm: "", thinnedPercent: "", dryUm: "", panelC: "" });
  const [done, setDone] = useState<{ entered: Entered; finishedAt: string } | null>(null);
  const back = `/cars/${car.id}`;
  const panelNames = panels.map((name) => words.named("panel", name)).join(", ");
  if (clock === null) return <NoSuch isLoading />;

  if (done !== null && sheet !== null) {
    return <Finished car={car} sheet={sheet} panels={panelNames} {...done} />;
  }
  if (step === "panels") {
    return (
      <Page
        title={words.t("finish.panels")}
        back={back}
        actions={
          <ActionButton kind="main" disabled={panels.length === 0} onClick={() => setStep("sheet")}>
            {words.t("finish.next", { count: panels.length })}
          </ActionButton>
        }
      >
        <PanelOutline
          panels={car.panels}
          chosen={panels}
          onToggle={(name) =>
            setPanels(panels.includes(name) ? panels.filter((each) => each !== name) : [...panels, name])
          }
          words={words}
        />
      </Page>
    );
  }
  if (step === "sheet" || sheet === null) {
    return (
      <Page
        title={words.t("finish.sheet")}
        actions={<ActionButton onClick={() => setStep("panels")}>{words.t("finish.back")}</ActionButton>}
      >
        <p class="about">{panelNames}</p>
        <div class="sheet-list">
          {proposedSheets(sheets, car, panels, cars).map((each) => (
            <ActionButton
              key={each.id}
              kind="main"
              onClick={() => {
                setSheet(each);
                setStep("finish");
              }}
            >
              <b>{words.named("kind", each.kind)}</b>
              <small>{each.name}</small>
            </ActionButton>
          ))}
        </div>
      </Page>
    );
  }

  const send = async () => {
    const finishedAt = new Date(atMs ?? nowMs).toISOString();
    const wetUm = typed(film.wetUm);
    const dryUm = typed(film.dryUm);
    const panelC = typed(film.panelC);
    const body = {
      panels,
      sheet: sheet.id,
      finishedAt,
      ...(dryUm === undefined ? {} : { filmUm: dryUm }),
      ...(dryUm !== undefined || wetUm === undefined
        ? {}
        : { wetFilm: { wetUm, thinnedPercent: typed(film.thinnedPercent) ?? 0 } }),
      ...(panelC === undefined ? {} : { panelAtFinishC: words.celsius(panelC) }),
    };
    const label = words.t("finish.entry", { kind: words.named("kind", sheet.kind), car: car.name });
    const entered = await enter({ method: "POST", path: `/api/cars/${car.id}/coats`, body, label });
    setDone({ entered, finishedAt });
  };
  const field = (name: keyof typeof film, label: string) => (
    <label class="work-pick">
      <span>{label}</span>
      <input
        inputMode="decimal"
        value={film[name]}
        onInput={(event) => setFilm({ ...film, [name]: event.currentTarget.value })}
      />
    </label>
  );
  return (
    <Page
      title={words.named("kind", sheet.kind)}
      actions={
        <>
          <ActionButton onClick={() => setStep("sheet")}>{words.t("finish.back")}</ActionButton>
          <ActionButton kind="main" onClick={() => void send()}>
            {words.t("finish.finished")}
          </ActionButton>
        </>
      }
    >
      <p class="about">{`${car.name}: ${panelNames}. ${sheet.name}`}</p>
      {car.place === null ? (
        <p class="hint">{words.t("finish.not-judged")}</p>
      ) : (
        <LimitsLine place={car.place.id} sheet={sheet.id} />
      )}
      <ul class="cautions">
        {[...sheet.cautions, words.t("caution.spray-air-fed")].map((caution) => (
          <li key={caution}>{caution}</li>
        ))}
      </ul>
      <When label={words.t("finish.when")} nowMs={nowMs} clock={clock} value={atMs} onChange={setAtMs} />
      <details class="more">
        <summary>{words.t("finish.more")}</summary>
        {field("wetUm", words.t("finish.wet-film"))}
        {field("thinnedPercent", words.t("finish.thinned"))}
        {field("dryUm", words.t("finish.dry-film"))}
        {field("panelC", words.t("finish.panel-temperature", { unit: words.temperatureUnit }))}
      </details>
    </Page>
  );
}

/** The spray check in one line; it does not stand in the way. */
function LimitsLine({ place, sheet }: { place: string; sheet: string }) {
  const words = useWords();
  const path = `/api/spray-check?${new URLSearchParams({ place, sheet })}`;
  const { answer: outlook, failure } = useAsked<SprayOutlook>(path);
  if (outlook === null)
    return <p class="hint">{failure === null ? words.t("spray.loading") : words.t("finish.not-judged")}</p>;
  const { state } = outlook.now;
  return (
    <p class={`limits-line verdict-${state.replaceAll(" ", "-")}`}>
      <VerdictShape state={state} />
      <span>{state === "spray" ? words.t("finish.all-inside") : outlook.reason}</span>
    </p>
  );
}

interface FinishedProps {
  car: CarView;
  sheet: SheetView;
  panels: string;
  entered: Entered;
  finishedAt: string;
}

/** At once what one wants to know: ready for what, and when. */
function Finished({ car, sheet, panels, entered, finishedAt }: FinishedProps) {
  const { nowMs, clock, go } = useShell();
  const words = useWords();
  const coats = car.coats.filter((coat) => coat.sheet.id === sheet.id && coat.finishedAt === finishedAt);
  return (
    <Page
      title={words.t("finish.done")}
      actions={
        <>
          <ActionButton onClick={() => go("/")}>{words.t("finish.to-cars")}</ActionButton>
          <ActionButton kind="main" onClick={() => go(`/cars/${car.id}`)}>
            {car.name}
          </ActionButton>
        </>
      }
    >
      <p class="about">{`${words.named("kind", sheet.kind)}: ${panels}`}</p>
      <SaidAs result={entered} />
      {clock !== null &&
        coats.map((coat) => (
          <div key={coat.id} class="answer-now">
            <CoatSays coat={coat} clock={clock} nowMs={nowMs} />
            <Stages coat={coat} clock={clock} />
          </div>
        ))}
      {coats.length === 0 && entered.state === "sent" && <p role="status">{words.t("finish.reckoning")}</p>}
    </Page>
  );
}
