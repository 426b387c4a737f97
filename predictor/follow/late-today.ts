/** Whether what a coat waits for next will come before work ends. */
import type { Outcome, StageOutcome } from "../cure/climb.ts";
import { readyBy } from "../plan/start-by.ts";

export interface LateToday {
  /** The first stage that is not safe yet. */
  stage: StageOutcome;
  /** Likely in time but not surely, or not even likely. */
  state: "check first" | "not today";
  workEndsAtMs: number;
}

/** Null where it is safe in time, where nothing but full cure is waited for, and when no work is left to end today. */
export function lateToday(outcome: Outcome, nowMs: number, workEndsAtMs: number | null): LateToday | null {
  const stage = outcome.stages.find(({ safeAtMs }) => !(safeAtMs !== null && safeAtMs <= nowMs));
  if (outcome.curePercent === null || workEndsAtMs === null) return null;
  if (stage === undefined || stage.stage === "full-cure") return null;
  const state = readyBy(outcome, stage.stage, workEndsAtMs);
  return state === "ready" ? null : { stage, state, workEndsAtMs };
}
