/** What if: the coats of a car as things stand, and under a plan. */
import { text } from "../../words/text.ts";
import type { Ahead, Note, Outcome, StageOutcome } from "../cure/climb.ts";
import type { Sheet, StageName } from "../cure/sheet.ts";
import { sheetWindows, type WindowState } from "../cure/windows.ts";
import type { Energy } from "./energy.ts";
import { freshOutcome } from "./fresh-coat.ts";
import { type NextCoatVerdict, nextCoatVerdict } from "./next-coat.ts";
import { planAhead } from "./plan-ahead.ts";
import { conventionalBakeEnergy, type EnergyQuestion, planEnergy, type ShopPlace } from "./plan-energy.ts";
import { type PlanFault, type PlanStart, type PlanStep, planEndsAtMs, planFaults } from "./plan-step.ts";

/** A coat that is asked about. */
export interface AskedCoat {
  id: string;
  climb: { outcome(asOfMs: number, ahead?: Ahead): Outcome };
  sheet: Sheet;
  finishedAtMs: number;
}

export interface WhatIfQuestion {
  /** Coats of one car; all go through the plan. */
  coats: readonly AskedCoat[];
  start: PlanStart;
  /** By name; those in `steps` and the one in `start` at least. */
  places: Readonly<Record<string, ShopPlace>>;
  steps: readonly PlanStep[];
  /** How far ahead the coats are looked at; to the plan's end when absent or earlier than that. */
  untilMs?: number;
  /** Without it nothing is said of energy. */
  energy?: EnergyQuestion;
}

export interface StageTimes {
  likelyAtMs: number | null;
  safeAtMs: number | null;
}

export interface StageChange {
  stage: StageName;
  asThingsStand: StageTimes;
  plan: StageTimes;
  /** How much earlier it is safe under the plan; negative for later, null where one of the two is never safe. */
  safeEarlierMinutes: number | null;
}

export interface CoatChange {
  id: string;
  stages: StageChange[];
  /** The first stage that is not safe yet; null when all are. */
  nextStage: StageName | null;
  /** Percentage under the plan when that stage is safe; null when it never is. */
  percentAtNextStage: number | null;
  percentAtPlanEnd: { asThingsStand: number | null; plan: number | null };
  /** Missed when the next coat comes or, without one onto this coat, by the end of the plan; and not missed by then as things stand. */
  windowsMissed: WindowState[];
  /** What the plan adds, such as a panel hotter than the sheet covers. */
  notes: Note[];
  /** The stage that the energies are compared for; null when nothing is waited for. */
  goal: StageName | null;
}

export interface NextCoatChange extends NextCoatVerdict {
  onto: string;
  /** The new coat's own stages under the plan. */
  stages: StageOutcome[];
  notes: Note[];
}

export interface WhatIf {
  /** Or `untilMs`, where that is later. */
  planEndsAtMs: number;
  coats: CoatChange[];
  nextCoat: NextCoatChange | null;
  energy: EnergyChange | null;
}

/** Each null where its end is never reached, or no place handles air for a bake. */
export interface EnergyChange {
  plan: Energy | null;
  asThingsStand: Energy | null;
  conventionalBake: Energy | null;
}

interface Judged {
  stands: Outcome;
  planned: Outcome;
  change: CoatChange;
}

/**
 * The answer, or everything in the plan that does not fit.
 *
 * The energies are compared for one and the same goal: of each coat the last stage before full cure that is safe when the
 * plan ends or, where that is none that is not safe now already, its next stage. The plan's energy runs to the plan's end
 * or until all goals are safe, whichever is later; today's way, the coats waiting where they are, until the same goals are
 * safe as things stand. `plan-energy.ts` says what runs meanwhile.
 */
export function whatIf(question: WhatIfQuestion): WhatIf | { faults: PlanFault[] } {
  const { coats, start, places, steps } = question;
  const next = steps.find((step) => step.kind === "next-coat");
  const below = next && coatBelow(coats, next.onto);
  const faults = planFaults(steps, start, places);
  if (next !== undefined && below === undefined) {
    const path = `steps.${steps.indexOf(next)}.onto`;
    faults.push({
      path,
      expected: text("plan-fault.one-of", { names: coats.map(({ id }) => id) }),
      found: `${next.onto}`,
    });
  }
  if (faults.length > 0) return { faults };
  const standing = planAhead([], start, places);
  const ahead = planAhead(steps, start, places);
  const lastStepEndsMs = planEndsAtMs(steps, start.nowMs);
  const endMs = Math.max(lastStepEndsMs, question.untilMs ?? lastStepEndsMs);
  const coveredMs = next && Math.max(next.atMs, start.nowMs);
  const judged = coats.map((coat) =>
    judge(coat, standing, ahead, { nowMs: start.nowMs, endMs, coveredMs: coat === below ? coveredMs : undefined }),
  );
  return {
    planEndsAtMs: endMs,
    coats: judged.map(({ change }) => change),
    nextCoat: next && below ? nextCoatChange(next, below, ahead, start.nowMs) : null,
    energy: question.energy === undefined ? null : energyChange(question, question.energy, judged, lastStepEndsMs),
  };
}

function judge(
  coat: AskedCoat,
  standing: Ahead,
  ahead: Ahead,
  { nowMs, endMs, coveredMs = endMs }: { nowMs: number; endMs: number; coveredMs: number | undefined },
): Judged {
  const { id, climb, sheet, finishedAtMs } = coat;
  const stands = climb.outcome(endMs, standing);
  const planned = climb.outcome(endMs, ahead);
  const nextStage = stands.stages.find(({ safeAtMs }) => !isBy(safeAtMs, nowMs))?.stage ?? null;
  const nextSafeAtMs = nextStage === null ? null : timesOf(planned, nextStage).safeAtMs;
  const missedAnyway = sheetWindows(sheet, stands, finishedAtMs, coveredMs);
  const change: CoatChange = {
    id,
    stages: stands.stages.map(({ stage, likelyAtMs, safeAtMs }): StageChange => {
      const plan = timesOf(planned, stage);
      return {
        stage,
        asThingsStand: { likelyAtMs, safeAtMs },
        plan,
        safeEarlierMinutes: safeAtMs === null || plan.safeAtMs === null ? null : (safeAtMs - plan.safeAtMs) / 60_000,
      };
    }),
    nextStage,
    percentAtNextStage: nextSafeAtMs === null ? null : climb.outcome(nextSafeAtMs, ahead).curePercent,
    percentAtPlanEnd: { asThingsStand: stands.curePercent, plan: planned.curePercent },
    windowsMissed: sheetWindows(sheet, planned, finishedAtMs, coveredMs).filter(
      ({ state }, index) => state === "missed" && missedAnyway[index]?.state !== "missed",
    ),
    notes: planned.notes.filter(({ text }) => !stands.notes.some((note) => note.text === text)),
    goal: goalOf(stands, planned, nowMs, endMs),
  };
  return { stands, planned, change };
}

function goalOf(stands: Outcome, planned: Outcome, nowMs: number, endMs: number): StageName | null {
  const ahead = stands.stages.filter(({ stage, safeAtMs }) => stage !== "full-cure" && !isBy(safeAtMs, nowMs));
  const safeByEnd = ahead.findLast(({ stage }) => isBy(timesOf(planned, stage).safeAtMs, endMs));
  return (safeByEnd ?? ahead[0])?.stage ?? null;
}

function energyChange(
  { start, places, steps }: WhatIfQuestion,
  energy: EnergyQuestion,
  judged: readonly Judged[],
  endMs: number,
): EnergyChange {
  const until = (fromMs: number, outcomeOf: (coat: Judged) => Outcome) =>
    judged.reduce((latestMs, coat) => {
      const { goal } = coat.change;
      return goal === null ? latestMs : Math.max(latestMs, timesOf(outcomeOf(coat), goal).safeAtMs ?? Infinity);
    }, fromMs);
  const energyUntil = (ofSteps: readonly PlanStep[], untilMs: number) =>
    Number.isFinite(untilMs) ? planEnergy(energy, ofSteps, start, places, untilMs) : null;
  return {
    plan: energyUntil(
      steps,
      until(endMs, ({ planned }) => planned),
    ),
    asThingsStand: energyUntil(
      [],
      until(start.nowMs, ({ stands }) => stands),
    ),
    conventionalBake: conventionalBakeEnergy(energy, start, places),
  };
}

function nextCoatChange(
  next: PlanStep & { kind: "next-coat" },
  below: AskedCoat,
  ahead: Ahead,
  nowMs: number,
): NextCoatChange {
  const atMs = Math.max(next.atMs, nowMs);
  const outcome = below.climb.outcome(atMs, ahead);
  const { panelC } = outcome;
  const { stages, notes } = freshOutcome(
    panelC === null ? next.coat : { ...next.coat, panelAtFinishC: panelC },
    ahead,
    atMs,
  );
  return { onto: below.id, ...nextCoatVerdict(below.sheet, outcome, below.finishedAtMs, atMs), stages, notes };
}

/** The coat of that name or, without one, the one finished last. */
function coatBelow(coats: readonly AskedCoat[], onto: string | undefined): AskedCoat | undefined {
  if (onto !== undefined) return coats.find(({ id }) => id === onto);
  return coats.reduce<AskedCoat | undefined>(
    (last, coat) => (last === undefined || coat.finishedAtMs > last.finishedAtMs ? coat : last),
    undefined,
  );
}

function timesOf(outcome: Outcome, stage: StageName): StageTimes {
  const found = outcome.stages.find((each) => each.stage === stage);
  return { likelyAtMs: found?.likelyAtMs ?? null, safeAtMs: found?.safeAtMs ?? null };
}

function isBy(atMs: number | null, byMs: number): boolean {
  return atMs !== null && atMs <= byMs;
}
