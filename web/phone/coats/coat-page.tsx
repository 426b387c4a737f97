/** One coat: its rail, when it is ready for what, its sheet at hand, what was checked and corrected. */
import { useEffect, useState } from "preact/hooks";
import type { CoatView, SheetView } from "../../../predictor/serve/api.ts";
import { ask } from "../../parts/ask.ts";
import { limitWords } from "../../parts/limit-words.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import type { Entered } from "../core/enter.ts";
import { ActionButton, Page, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { CheckTask } from "./check-task.tsx";
import { CoatBrief } from "./coat-brief.tsx";
import { CorrectTask } from "./correct-task.tsx";
import { NoSuch } from "./no-such.tsx";
import { SheetAtHand } from "./sheet-at-hand.tsx";
import { Stages } from "./stages.tsx";
import { WithdrawCheck } from "./withdraw-check.tsx";
import "./coats.css";

export function CoatPage({ coatId }: { coatId: string }) {
  const { cars, clock } = useShell();
  const live = cars?.cars.flatMap(({ coats }) => coats).find(({ id }) => id === coatId);
  // One that is covered or withdrawn is not in the list of cars any more.
  const [asked, setAsked] = useState<CoatView | "none" | null>(null);
  const isLive = live !== undefined;
  useEffect(() => {
    if (isLive) return;
    let isOver = false;
    ask<CoatView>(`/api/coats/${encodeURIComponent(coatId)}`).then(
      (coat) => {
        if (!isOver) setAsked(coat);
      },
      () => {
        if (!isOver) setAsked("none");
      },
    );
    return () => {
      isOver = true;
    };
  }, [coatId, isLive]);
  const coat = live ?? (asked === "none" ? null : asked);
  if (coat === null || clock === null) return <NoSuch isLoading={asked !== "none"} />;
  return <OneCoat coat={coat} clock={clock} />;
}

function OneCoat({ coat, clock }: { coat: CoatView; clock: ShopClock }) {
  const { nowMs, sheets } = useShell();
  const words = useWords();
  const [task, setTask] = useState<"checked" | "correct" | null>(null);
  const [entered, setEntered] = useState<Entered | null>(null);
  const sheet = useSheet(coat.sheet, sheets);
  const done = (result: Entered | null) => {
    setTask(null);
    setEntered(result);
  };
  if (task === "checked") return <CheckTask coats={[coat]} done={done} />;
  if (task === "correct") return <CorrectTask coat={coat} done={done} />;
  return (
    <Page
      title={`${coat.car}: ${words.named("kind", coat.sheet.kind)}`}
      back={`/cars/${coat.carId}`}
      actions={
        coat.withdrawn === null && (
          <div class="two">
            <ActionButton onClick={() => setTask("correct")}>{words.t("coat.correct")}</ActionButton>
            <ActionButton kind="main" onClick={() => setTask("checked")}>
              {words.t("car.checked")}
            </ActionButton>
          </div>
        )
      }
    >
      {entered !== null && <SaidAs result={entered} />}
      {coat.withdrawn !== null && (
        <p class="gate gate-missed">
          {words.t("coat.withdrawn", { who: coat.withdrawn.who, reason: coat.withdrawn.reason })}
        </p>
      )}
      <CoatBrief coat={coat} clock={clock} nowMs={nowMs} />
      <Stages coat={coat} clock={clock} />
      {coat.sheet.cautions.length > 0 && (
        <ul class="cautions">
          {coat.sheet.cautions.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
      )}
      {sheet !== null && <SheetAtHand sheet={sheet} />}
      <Checks coat={coat} clock={clock} said={setEntered} />
      <Kept coat={coat} clock={clock} />
      <p>
        <a class="work-link" href={`/log/${encodeURIComponent(coat.id)}`}>
          {words.t("coat.file")}
        </a>
      </p>
    </Page>
  );
}

interface ChecksProps {
  coat: CoatView;
  clock: ShopClock;
  said(entered: Entered): void;
}

function Checks({ coat, clock, said }: ChecksProps) {
  const { nowMs } = useShell();
  const words = useWords();
  if (coat.checks.length === 0) return null;
  return (
    <section class="kept">
      <h2>{words.t("coat.checks")}</h2>
      <ul>
        {coat.checks.map((check) => (
          <li key={check.id}>
            <span>
              <b>{clock.when(Date.parse(check.at), nowMs)}</b>{" "}
              {words.t(check.ready ? "history.check-ready" : "history.check-not-yet", {
                stage: words.t(`stage.${check.stage}`),
              })}
              {`, ${words.t(`how.${check.how}`)}`}
            </span>
            <span class="hint">{check.who}</span>
            {check.withdrawn === null ? (
              <WithdrawCheck checkId={check.id} said={said} />
            ) : (
              <span class="hint">
                {words.t("coat.check-withdrawn", { who: check.withdrawn.who, reason: check.withdrawn.reason })}
              </span>
            )}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** What the record holds: corrections, the spray check at the finish, batches, who entered it. */
function Kept({ coat, clock }: { coat: CoatView; clock: ShopClock }) {
  const { nowMs, sheets } = useShell();
  const words = useWords();
  const shown = (field: CoatView["corrections"][number]["field"], value: string | number | null) => {
    if (value === null) return words.t("coat.by-sheet");
    if (field === "finishedAt") return clock.when(Date.parse(String(value)), nowMs);
    if (field === "filmUm") return `${words.number(Number(value), 0)} µm`;
    return sheets.find(({ id }) => id === value)?.name ?? String(value);
  };
  return (
    <section class="kept">
      <h2>{words.t("coat.record")}</h2>
      <p>{words.t("coat.entered-by", { who: coat.who, time: clock.when(Date.parse(coat.finishedAt), nowMs) })}</p>
      {coat.batches.map(({ component, batch }) => (
        <p key={component}>{`${words.named("component", component)}: ${batch}`}</p>
      ))}
      <ul>
        {coat.corrections.map((correction) => (
          <li key={`${correction.at}/${correction.field}`}>
            <span>
              {words.t(`corrected.${correction.field}`)} <s>{shown(correction.field, correction.was)}</s> →{" "}
              <b>{shown(correction.field, correction.became)}</b>
            </span>
            <span class="hint">
              {`${correction.reason} (${correction.who}, ${clock.when(Date.parse(correction.at), nowMs)})`}
            </span>
          </li>
        ))}
      </ul>
      {coat.sprayCheck !== null && (
        <details>
          <summary>{`${words.t("coat.spray-check")}: ${words.named("verdict", coat.sprayCheck.state)}`}</summary>
          <ul>
            {coat.sprayCheck.limits.map((limit) => {
              const { name, value, bounds, margin } = limitWords(limit, words);
              return (
                <li key={limit.what}>
                  <span>
                    {name} <b>{value}</b>
                  </span>
                  <span class="hint">{[bounds, margin].filter(Boolean).join(", ")}</span>
                </li>
              );
            })}
          </ul>
        </details>
      )}
    </section>
  );
}

/** The coat's own revision of its sheet; the newest is at hand already. */
function useSheet({ id, revision }: CoatView["sheet"], sheets: readonly SheetView[]): SheetView | null {
  const newest = sheets.find((sheet) => sheet.id === id && sheet.revision === revision);
  const [older, setOlder] = useState<SheetView | null>(null);
  const isKnown = newest !== undefined || sheets.length === 0;
  useEffect(() => {
    if (isKnown) return;
    let isOver = false;
    ask<SheetView>(`/api/sheets/${id}/${revision}`).then(
      (sheet) => {
        if (!isOver) setOlder(sheet);
      },
      () => undefined,
    );
    return () => {
      isOver = true;
    };
  }, [id, revision, isKnown]);
  return newest ?? older;
}
