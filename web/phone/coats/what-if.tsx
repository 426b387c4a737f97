/** What if? A car's plans as buttons, and what each would change. Nothing of it is recorded. */
import { useEffect, useId, useRef, useState } from "preact/hooks";
import type { CarView, Place, Shop } from "../../../predictor/serve/api.ts";
import type { WhatIfView } from "../../../predictor/serve/entries.ts";
import type { Words } from "../../../words/words.ts";
import { inChosenLanguage } from "../../parts/device-memory.ts";
import { GateShape } from "../../parts/shapes.tsx";
import { msOf, type ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import "./what-if.css";
import { askWhatIf, type WhatIfAnswer } from "./ask-what-if.ts";
import { type WhatIfChoice, whatIfChoices } from "./what-if-choices.ts";
import { energyRows, missedText, percentText, stageAnswers } from "./what-if-words.ts";

interface Props {
  car: CarView;
  places: readonly Place[];
  unit: Shop["units"]["temperature"];
  clock: ShopClock;
  nowMs: number;
}

export function WhatIf({ car, places, unit, clock, nowMs }: Props) {
  const words = useWords();
  const [isOpen, setOpen] = useState(false);
  const panel = useId();
  return (
    <div class="what-if">
      <button
        type="button"
        class="what-if-open"
        aria-expanded={isOpen}
        aria-controls={panel}
        onClick={() => setOpen(!isOpen)}
      >
        {words.t("what-if.open")} <span class="unseen">{car.name}</span>
      </button>
      <div id={panel}>{isOpen && <Choices car={car} places={places} unit={unit} clock={clock} nowMs={nowMs} />}</div>
    </div>
  );
}

interface Asked {
  choice: WhatIfChoice;
  /** Null while it is on its way. */
  answer: WhatIfAnswer | null;
}

function Choices({ car, places, unit, clock, nowMs }: Props) {
  const { words } = clock;
  const [asked, setAsked] = useState<Asked | null>(null);
  const running = useRef<AbortController | null>(null);
  const end = useRef<HTMLDivElement>(null);
  useEffect(() => () => running.current?.abort(), []);
  const answer = asked?.answer ?? null;
  useEffect(() => {
    if (answer !== null) end.current?.scrollIntoView({ block: "start" });
  }, [answer]);

  const ask = async (choice: WhatIfChoice) => {
    running.current?.abort();
    const given = new AbortController();
    running.current = given;
    setAsked({ choice, answer: null });
    const until = choice.until?.(nowMs, clock);
    const steps = choice.steps(new Date(nowMs).toISOString());
    const question = { car: car.id, steps, ...(until === undefined ? {} : { until }) };
    const found = await askWhatIf(
      question,
      (url, options) => fetch(inChosenLanguage(url), options),
      words,
      given.signal,
    );
    if (found !== null && !given.signal.aborted) setAsked({ choice, answer: found });
  };
  return (
    <>
      <p class="what-if-note">{words.t("what-if.only")}</p>
      <div class="what-if-choices">
        {whatIfChoices(car, places, unit, words).map((choice) => (
          <button
            key={choice.id}
            type="button"
            aria-pressed={asked?.choice.id === choice.id}
            onClick={() => void ask(choice)}
          >
            {choice.text}
          </button>
        ))}
      </div>
      <div class="what-if-answer" ref={end}>
        <p role="status" class="what-if-state">
          {asked !== null && stateText(asked, clock, nowMs)}
        </p>
        {answer?.kind === "fault" && (
          <div class="what-if-fault">
            <p>{answer.text}</p>
            {answer.faults.map((fault) => (
              <p key={fault}>{fault}</p>
            ))}
          </div>
        )}
        {answer?.kind === "answer" && (
          <Answer view={answer.view} isPlan={asked?.choice.id !== "overnight"} clock={clock} nowMs={nowMs} />
        )}
      </div>
    </>
  );
}

function stateText({ choice, answer }: Asked, clock: ShopClock, nowMs: number): string {
  const { words } = clock;
  const { text: plan } = choice;
  if (answer === null) return words.t("what-if.reckoning", { plan });
  if (answer.kind === "fault") return words.t("what-if.no-answer", { plan });
  return words.t("what-if.as-of", { plan, time: clock.when(msOf(answer.view.asOf) ?? Number.NaN, nowMs) });
}

interface AnswerProps {
  view: WhatIfView;
  /** False where everything stays as it is, so that there is nothing to set beside it. */
  isPlan: boolean;
  clock: ShopClock;
  nowMs: number;
}

function Answer({ view, isPlan, clock, nowMs }: AnswerProps) {
  const { words } = clock;
  return (
    <>
      {view.coats.map((coat) => {
        const stages = stageAnswers(coat, clock, nowMs);
        const percent = percentText(coat, { at: view.planEndsAt, isPlan }, clock, nowMs);
        return (
          <section key={coat.id} class="answer-coat">
            <h2>{`${coat.sheet}, ${coat.panels.map((name) => words.named("panel", name)).join(", ")}`}</h2>
            {stages.length === 0 && <p>{words.t("coat.none-left")}.</p>}
            {stages.map(({ stage, change, effect, plan, asThingsStand }) => (
              <div key={stage} class="answer-stage">
                <h3>
                  {stage}
                  {isPlan && <b class={`effect-${effect}`}>{change}</b>}
                </h3>
                <dl>
                  {plan !== asThingsStand && (
                    <div class="answer-plan">
                      <dt>{words.t("what-if.this-plan")}</dt>
                      <dd>{plan}</dd>
                    </div>
                  )}
                  <div>
                    <dt>
                      {words.t(isPlan && plan === asThingsStand ? "what-if.either-way" : "what-if.as-things-stand")}
                    </dt>
                    <dd>{asThingsStand}</dd>
                  </div>
                </dl>
              </div>
            ))}
            {coat.windowsMissed.map((window) => (
              <p key={window.for} class="gate gate-missed">
                <GateShape state="missed" />
                <span>{missedText(window, words)}</span>
              </p>
            ))}
            {percent !== null && <p>{percent}</p>}
            {coat.notes.map(({ text }) => (
              <p key={text}>{text}</p>
            ))}
          </section>
        );
      })}
      <EnergyTable energy={view.energy} isPlan={isPlan} words={words} />
      <p class="caution">{view.caution}</p>
    </>
  );
}

function EnergyTable({ energy, isPlan, words }: { energy: WhatIfView["energy"]; isPlan: boolean; words: Words }) {
  if (energy === null) return null;
  return (
    <>
      <table class="answer-energy">
        <caption>{words.t("what-if.energy")}</caption>
        <thead>
          <tr>
            <td />
            <th scope="col">{words.t("what-if.kwh")}</th>
            <th scope="col">{words.t("what-if.cost", { currency: energy.currency })}</th>
            <th scope="col">
              CO<sub>2</sub>, kg
            </th>
          </tr>
        </thead>
        <tbody>
          {energyRows(energy, isPlan, words).map(({ name, figures, why }) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              {figures === null ? (
                <td colSpan={3}>{why}</td>
              ) : (
                <>
                  <td>{figures.energy}</td>
                  <td>{figures.cost}</td>
                  <td>{figures.co2}</td>
                </>
              )}
            </tr>
          ))}
        </tbody>
      </table>
      {energy.sources.length > 0 && (
        <p class="answer-sources">{words.t("what-if.sources", { sources: energy.sources.join("; ") })}</p>
      )}
    </>
  );
}
