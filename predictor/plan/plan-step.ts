/** What a person may plan for one car, and where it will stand then. */

import { type Text, text } from "../../words/text.ts";
import type { CoatSetup } from "../cure/climb.ts";
import type { PlaceAhead } from "./place-ahead.ts";

export type PlanStep =
  | { kind: "move"; atMs: number; place: string }
  /** The air round the car is at `bakeC` from `atMs` on for so long; the warm-up is over by then. */
  | { kind: "bake"; atMs: number; bakeC: number; minutes: number }
  /** In the place where the car stands then. */
  | { kind: "heating-off"; atMs: number }
  /** A further coat, finished at `atMs`, onto one of the coats asked about; the one finished last when `onto` is absent. */
  | { kind: "next-coat"; atMs: number; coat: Omit<CoatSetup, "finishedAtMs">; onto?: string };

/** Something that does not fit; `path` with the step's number as given. */
export interface PlanFault {
  path: string;
  expected: Text;
  found: string;
}

export interface PlanStart {
  /** Where the car stands now. */
  place: string;
  nowMs: number;
}

/** A time in which the car stands in one place under one regime. */
export interface Span {
  place: string;
  fromMs: number;
  /** Infinity for the last. */
  toMs: number;
  /** Null when it is not baked. */
  bakeC: number | null;
  /** Since when the place's heating is off by the plan; null when it is not. */
  heatingOffAtMs: number | null;
  /** It comes from another place. */
  movedIn: boolean;
}

const msPerMinute = 60_000;
/** A step may lie this far in the past, for the time it takes to ask; it counts from now. */
const graceMs = msPerMinute;
const furthestDays = 31;
const mostSteps = 12;
const bakeRange = { fromC: 30, toC: 90, fromMinutes: 1, toMinutes: 240 };

/** Everything in a plan that does not fit. */
export function planFaults(
  steps: readonly PlanStep[],
  start: PlanStart,
  places: Readonly<Record<string, PlaceAhead>>,
): PlanFault[] {
  const faults: PlanFault[] = [];
  const placeFault = (path: string, place: string) => {
    if (Object.hasOwn(places, place)) return;
    faults.push({ path, expected: text("plan-fault.place", { places: Object.keys(places) }), found: place });
  };
  placeFault("start.place", start.place);
  if (steps.length > mostSteps) {
    faults.push({ path: "steps", expected: text("plan-fault.steps", { count: mostSteps }), found: `${steps.length}` });
  }
  const fromNow = steps.map((step) => notBefore(step, start.nowMs));
  steps.forEach((step, index) => {
    const path = `steps.${index}`;
    const { atMs } = step;
    if (!(atMs >= start.nowMs - graceMs && atMs <= start.nowMs + furthestDays * 24 * 60 * msPerMinute)) {
      const expected = text("plan-fault.instant", { days: furthestDays });
      faults.push({ path: `${path}.atMs`, expected, found: `${atMs}` });
    }
    if (step.kind === "move") placeFault(`${path}.place`, step.place);
    if (step.kind === "bake") {
      const { fromC, toC, fromMinutes, toMinutes } = bakeRange;
      if (!(step.bakeC >= fromC && step.bakeC <= toC)) {
        const expected = text("plan-fault.range", { from: { celsius: fromC }, to: { celsius: toC } });
        faults.push({ path: `${path}.bakeC`, expected, found: `${step.bakeC}` });
      }
      if (!(step.minutes >= fromMinutes && step.minutes <= toMinutes)) {
        const expected = text("plan-fault.range", { from: fromMinutes, to: toMinutes });
        faults.push({ path: `${path}.minutes`, expected, found: `${step.minutes}` });
      }
    }
    const during = bakeDuring(fromNow, index);
    if (during >= 0) {
      const expected = text("plan-fault.during-bake", { step: during });
      faults.push({ path: `${path}.atMs`, expected, found: step.kind });
    }
    if (step.kind === "heating-off") {
      const place = spansOf(steps, start).findLast((span) => span.fromMs <= Math.max(atMs, start.nowMs))?.place ?? "";
      if (Object.hasOwn(places, place) && places[place]?.coolingFrom === undefined) {
        faults.push({ path, expected: text("plan-fault.cooling"), found: place });
      }
    }
  });
  const nextCoats = steps.filter(({ kind }) => kind === "next-coat").length;
  if (nextCoats > 1) {
    faults.push({ path: "steps", expected: text("plan-fault.one-next-coat"), found: `${nextCoats}` });
  }
  return faults;
}

/** Where the car stands from now on; the steps in any order, without faults. */
export function spansOf(steps: readonly PlanStep[], start: PlanStart): Span[] {
  const spans: Span[] = [];
  const offAtMs = new Map<string, number>();
  let { place, nowMs: fromMs } = start;
  let movedIn = false;
  const stay = (toMs: number, bakeC: number | null) => {
    spans.push({ place, fromMs, toMs, bakeC, heatingOffAtMs: offAtMs.get(place) ?? null, movedIn });
    fromMs = toMs;
    movedIn = false;
  };
  for (const step of inOrder(steps, start.nowMs)) {
    if (step.kind === "next-coat") continue;
    if (step.kind === "move") {
      if (step.place === place) continue;
      stay(step.atMs, null);
      place = step.place;
      movedIn = true;
    } else if (step.kind === "heating-off") {
      if (offAtMs.has(place)) continue;
      stay(Math.max(step.atMs, fromMs), null);
      offAtMs.set(place, step.atMs);
    } else {
      stay(step.atMs, null);
      stay(step.atMs + step.minutes * msPerMinute, step.bakeC);
    }
  }
  stay(Number.POSITIVE_INFINITY, null);
  return spans;
}

/** When the last step is over; now for an empty plan. */
export function planEndsAtMs(steps: readonly PlanStep[], nowMs: number): number {
  return inOrder(steps, nowMs).reduce((endMs, step) => Math.max(endMs, stepEndsAtMs(step)), nowMs);
}

/** Of steps at one instant a move is the first and a bake the last. */
const rank: Record<PlanStep["kind"], number> = { move: 0, "heating-off": 1, "next-coat": 1, bake: 2 };

/** By time, none before now. */
function inOrder(steps: readonly PlanStep[], nowMs: number): PlanStep[] {
  return steps.map((step) => notBefore(step, nowMs)).sort((a, b) => a.atMs - b.atMs || rank[a.kind] - rank[b.kind]);
}

function stepEndsAtMs(step: PlanStep): number {
  return step.kind === "bake" ? step.atMs + step.minutes * msPerMinute : step.atMs;
}

function notBefore(step: PlanStep, nowMs: number): PlanStep {
  return { ...step, atMs: Math.max(step.atMs, nowMs) };
}

/** Number of another step's bake that a step falls into, -1 for none. Of two bakes the later one falls into the other. */
function bakeDuring(steps: readonly PlanStep[], index: number): number {
  const step = steps[index];
  if (step === undefined || step.kind === "heating-off") return -1;
  return steps.findIndex((bake, other) => {
    if (bake.kind !== "bake" || other === index || !(step.atMs < stepEndsAtMs(bake))) return false;
    return step.atMs > bake.atMs || (step.kind === "bake" && step.atMs === bake.atMs && other < index);
  });
}
