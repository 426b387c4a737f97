/** The answer to a what-if in the words of the list. */
import type { EnergyView, WhatIfView } from "../../predictor/serve/entries.ts";
import { stageWord } from "../parts/coat-words.ts";
import { capital, msOf, type ShopClock } from "../parts/shop-clock.ts";

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
      if (gained) return "only with this plan";
      if (lost) return "not safe with this plan";
      if (minutes === 0) return planned === stands ? "no change" : "about the same";
      return `${durationText(Math.abs(minutes))} ${minutes > 0 ? "sooner" : "later"}`;
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
  if (likelyMs === null) return "no time in this air";
  const likely = `${clock.when(likelyMs, nowMs)} likely`;
  return safeMs === null ? `${likely}, no safe time` : `${likely}, ${clock.whenAfter(likelyMs, safeMs, nowMs)} safe`;
}

/** Whole minutes as "35 min", "2 h 20 min", "3 h"; from two days on as "3 days". */
export function durationText(minutes: number): string {
  const hours = Math.floor(minutes / 60);
  if (hours >= 48) return `${Math.round(hours / 24)} days`;
  const rest = minutes % 60;
  if (hours === 0) return `${rest} min`;
  return rest === 0 ? `${hours} h` : `${hours} h ${rest} min`;
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
  const [planned, stands] = [plan.toFixed(0), asThingsStand?.toFixed(0)];
  if (!isPlan) return `${planned} % cured at ${clock.when(endsMs, nowMs)}.`;
  if (planned === stands) return null;
  const beside = stands === undefined ? "" : `, instead of ${stands} %`;
  return `${planned} % cured at ${clock.when(endsMs, nowMs)}${beside}.`;
}

/** "Missed: next coat without sanding. Then sand first." */
export const missedText = (window: CoatAnswer["windowsMissed"][number]): string =>
  `Missed: ${window.for}. Then ${window.ifMissed}.`;

export interface EnergyRow {
  name: string;
  /** kWh of fuel and fans together, cost in the shop's currency, kg of CO2; null where there are no such figures. */
  figures: { energy: string; cost: string; co2: string } | null;
  /** Why there is none. */
  why: string;
}

/** The plan, today's way and a conventional bake, side by side; nothing where the shop file says nothing of energy. */
export function energyRows(energy: WhatIfView["energy"], isPlan: boolean): EnergyRow[] {
  if (energy === null) return [];
  const row = (name: string, view: EnergyView | null, why: string): EnergyRow => ({
    name,
    figures:
      view === null
        ? null
        : {
            energy: roundText(view.fuelKWh + view.fansKWh),
            cost: roundText(view.cost),
            co2: roundText(view.co2Kg),
          },
    why,
  });
  const unreached = "its end is not reached";
  return [
    ...(isPlan ? [row("This plan", energy.plan, unreached)] : []),
    row("As things stand", energy.asThingsStand, unreached),
    row("Conventional bake", energy.conventionalBake, "no place can bake"),
  ];
}

/** Two decimals below 10, one below 100, none above; 0 stays "0". */
function roundText(value: number): string {
  if (value === 0) return "0";
  const size = Math.abs(value);
  return value.toFixed(size < 9.995 ? 2 : size < 99.95 ? 1 : 0);
}
