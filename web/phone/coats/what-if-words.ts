/** The answer to a what-if in the words of the list. */
import type { EnergyView, WhatIfView } from "../../../predictor/serve/entries.ts";
import type { Words } from "../../../words/words.ts";
import { stageWord } from "../../parts/coat-words.ts";
import { capital, msOf, type ShopClock } from "../../parts/shop-clock.ts";

type CoatAnswer = WhatIfView["coats"][number];
type Times = CoatAnswer["stages"][number]["plan"];

/** How many stages of a coat are told, the next one first; full cure only where nothing else is left, since no work waits for it. */
const stagesTold = 3;

export interface StageAnswer {
  stage: string;
  /** "2 h 20 min sooner"; empty where nothing was planned. */
  change: string;
  effect: "sooner" | "later" | "same";
  plan: string;
  asThingsStand: string;
}

/** What the plan does to the next stages of a coat. Safe times are compared: they are what people go by. */
export function stageAnswers(coat: CoatAnswer, clock: ShopClock, nowMs: number): StageAnswer[] {
  const from = coat.stages.findIndex(({ stage }) => stage === coat.nextStage);
  if (from === -1) return [];
  const left = coat.stages.slice(from);
  const told = left.filter(({ stage }) => stage !== "full-cure" || left.length === 1).slice(0, stagesTold);
  return told.map(({ stage, plan, asThingsStand, safeEarlierMinutes }) => {
    const minutes = Math.round(safeEarlierMinutes ?? 0);
    const planned = timesText(plan, clock, nowMs);
    const stands = timesText(asThingsStand, clock, nowMs);
    const gained = asThingsStand.safeAt === null && plan.safeAt !== null;
    const lost = asThingsStand.safeAt !== null && plan.safeAt === null;
    const changeText = () => {
      const { words } = clock;
      if (gained) return words.t("what-if.only-with");
      if (lost) return words.t("what-if.not-with");
      if (minutes === 0) return words.t(planned === stands ? "what-if.no-change" : "what-if.about-same");
      const duration = durationText(Math.abs(minutes), words);
      return words.t(minutes > 0 ? "what-if.sooner" : "what-if.later", { duration });
    };
    return {
      stage: capital(stageWord(stage, clock.words)),
      change: changeText(),
      effect: gained || minutes > 0 ? "sooner" : lost || minutes < 0 ? "later" : "same",
      plan: planned,
      asThingsStand: stands,
    };
  });
}

function timesText({ likelyAt, safeAt }: Times, clock: ShopClock, nowMs: number): string {
  const [likelyMs, safeMs] = [msOf(likelyAt), msOf(safeAt)];
  const { words } = clock;
  if (likelyMs === null) return words.t("what-if.no-time");
  const likely = clock.when(likelyMs, nowMs);
  if (safeMs === null) return words.t("what-if.likely-only", { likely });
  return words.t("what-if.likely-safe", { likely, safe: clock.whenAfter(likelyMs, safeMs, nowMs) });
}

/** Whole minutes as "35 min", "2 h 20 min", "3 h"; from two days on as "3 days". */
export function durationText(minutes: number, words: Words): string {
  const hours = Math.floor(minutes / 60);
  if (hours >= 48) return words.t("age.days", { count: Math.round(hours / 24) });
  const rest = minutes % 60;
  const parts = [
    ...(hours === 0 ? [] : [words.t("age.hours", { count: hours })]),
    ...(rest === 0 && hours > 0 ? [] : [words.t("age.minutes", { count: rest })]),
  ];
  return parts.join(" ");
}

/** How far the coat is when the plan has run; null where nothing tells, and where a plan makes no difference to it. */
export function percentText(
  coat: CoatAnswer,
  { at, isPlan }: { at: string; isPlan: boolean },
  clock: ShopClock,
  nowMs: number,
): string | null {
  const { plan, asThingsStand } = coat.percentAtPlanEnd;
  const endsMs = msOf(at);
  if (plan === null || endsMs === null) return null;
  const { words } = clock;
  const [planned, stands] = [plan.toFixed(0), asThingsStand?.toFixed(0)];
  const values = { percent: planned, time: clock.when(endsMs, nowMs) };
  if (!isPlan || stands === undefined) return words.t("what-if.cured-at", values);
  return planned === stands ? null : words.t("what-if.cured-instead", { ...values, instead: stands });
}

/** "Missed: next coat without sanding. Then sand first." */
export const missedText = (window: CoatAnswer["windowsMissed"][number], words: Words): string =>
  words.t("what-if.missed", {
    what: { prefix: "window", name: window.for },
    instead: { prefix: "missed", name: window.ifMissed },
  });

export interface EnergyRow {
  name: string;
  /** kWh of fuel and fans together, cost in the shop's currency, kg of CO2; null where there are no such figures. */
  figures: { energy: string; cost: string; co2: string } | null;
  /** Why there is none. */
  why: string;
}

/** The plan, today's way and a conventional bake, side by side; nothing where the shop file says nothing of energy. */
export function energyRows(energy: WhatIfView["energy"], isPlan: boolean, words: Words): EnergyRow[] {
  if (energy === null) return [];
  const row = (name: string, view: EnergyView | null, why: string): EnergyRow => ({
    name,
    figures:
      view === null
        ? null
        : {
            energy: roundText(view.fuelKWh + view.fansKWh, words),
            cost: roundText(view.cost, words),
            co2: roundText(view.co2Kg, words),
          },
    why,
  });
  const unreached = words.t("what-if.unreached");
  return [
    ...(isPlan ? [row(capital(words.t("what-if.this-plan")), energy.plan, unreached)] : []),
    row(capital(words.t("what-if.as-things-stand")), energy.asThingsStand, unreached),
    row(words.t("what-if.conventional"), energy.conventionalBake, words.t("what-if.no-bake")),
  ];
}

/** Two decimals below 10, one below 100, none above; 0 stays "0". */
function roundText(value: number, words: Words): string {
  if (value === 0) return "0";
  const size = Math.abs(value);
  return words.number(value, size < 9.995 ? 2 : size < 99.95 ? 1 : 0);
}
