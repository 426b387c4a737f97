/** The reverse question: when must a coat be finished so that a stage is reached in time. */
import type { Outcome } from "../cure/climb.ts";
import type { StageName } from "../cure/sheet.ts";

export type Readiness = "ready" | "check first" | "not today";

/** How a stage stands at an instant: safe by then, likely by then, or neither. Throws a RangeError for a stage not of the sheet. */
export function readyBy(outcome: Outcome, stage: StageName, byMs: number): Readiness {
  const { likelyAtMs, safeAtMs } = stageOf(outcome, stage);
  if (safeAtMs !== null && safeAtMs <= byMs) return "ready";
  return likelyAtMs !== null && likelyAtMs <= byMs ? "check first" : "not today";
}

export interface StartByQuestion {
  /** What a coat finished at an instant would come to. */
  outcomeOf: (finishedAtMs: number) => Outcome;
  stage: StageName;
  /** At most a week after `nowMs`. */
  byMs: number;
  nowMs: number;
}

export interface StartBy {
  /** Latest finish for which the stage is likely in time; null when even now is too late. */
  likelyFinishAtMs: number | null;
  /** The same for safe. */
  safeFinishAtMs: number | null;
}

const msPerMinute = 60_000;
const coarseMinutes = 5;
const furthestMinutes = 7 * 24 * 60;

/**
 * Latest finishes, to the minute from now, with which a stage is reached by an instant. A later finish may be ready sooner
 * (the heating comes on), so the search goes back from the end: every fifth minute until one works, then the minutes
 * after it. A stretch shorter than that which alone would work may be missed. Throws a RangeError where `byMs` is before
 * `nowMs` or over a week after it.
 */
export function startBy({ outcomeOf, stage, byMs, nowMs }: StartByQuestion): StartBy {
  const minutes = Math.floor((byMs - nowMs) / msPerMinute);
  if (!(minutes >= 0 && minutes <= furthestMinutes)) {
    throw new RangeError(`byMs must be within a week from ${nowMs}, found ${byMs}`);
  }
  const outcomes = new Map<number, Readiness>();
  const readinessAt = (minute: number) => {
    const known = outcomes.get(minute) ?? readyBy(outcomeOf(nowMs + minute * msPerMinute), stage, byMs);
    outcomes.set(minute, known);
    return known;
  };
  const latest = (works: (readiness: Readiness) => boolean): number | null => {
    const last = minutes - (minutes % coarseMinutes);
    for (let coarse = last; coarse >= 0; coarse -= coarseMinutes) {
      if (!works(readinessAt(coarse))) continue;
      let minute = Math.min(minutes, coarse + coarseMinutes - 1);
      while (!works(readinessAt(minute))) minute--;
      return nowMs + minute * msPerMinute;
    }
    return null;
  };
  return {
    likelyFinishAtMs: latest((readiness) => readiness !== "not today"),
    safeFinishAtMs: latest((readiness) => readiness === "ready"),
  };
}

function stageOf(outcome: Outcome, stage: StageName) {
  const found = outcome.stages.find((each) => each.stage === stage);
  if (found === undefined) {
    const known = outcome.stages.map((each) => each.stage).join(", ");
    throw new RangeError(`expected a stage of the sheet (${known}), found ${stage}`);
  }
  return found;
}
