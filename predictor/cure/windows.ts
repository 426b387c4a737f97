/** Stretches of time in which the next step must happen: when they open and close, and how they stand. */
import type { Outcome } from "./climb.ts";
import type { Sheet } from "./sheet.ts";

export interface WindowState {
  /** What may be done in it, in the sheet's words. */
  for: string;
  /** Null while the model gives no time for the stage. */
  opensAtMs: number | null;
  closesAtMs: number | null;
  /** From when it is closing; null while one of its ends is not known. */
  closingFromMs: number | null;
  state: "not open" | "open" | "closing" | "missed";
  ifMissed: string;
}

/** A window is closing in its last five minutes, or its second half where that is shorter: a third of a short one leaves no time (assumed). */
const closingShare = 1 / 2;
const closingAtMostMs = 5 * 60_000;

/**
 * The windows of a sheet for a coat at an instant. One that opens at a stage opens when the stage is safe; one that closes
 * at a stage closes when it is likely: both err towards the shorter window. Minutes count from the finish, by the clock or,
 * where the sheet says at what temperature they hold, by the panel's temperature.
 */
export function sheetWindows(sheet: Sheet, outcome: Outcome, finishedAtMs: number, nowMs: number): WindowState[] {
  const stageOf = (name: string) => outcome.stages.find((stage) => stage.stage === name);
  return sheet.windows.map((window, index): WindowState => {
    const opensAtMs = window.opensAt === "finish" ? finishedAtMs : (stageOf(window.opensAt)?.safeAtMs ?? null);
    const closesAtMs = outcome.windowClosesAtMs[index] ?? null;
    const closingFromMs = opensAtMs === null || closesAtMs === null ? null : closingFrom(opensAtMs, closesAtMs);
    return {
      for: window.for,
      opensAtMs,
      closesAtMs,
      closingFromMs,
      state: stateAt(opensAtMs, closingFromMs, closesAtMs, nowMs),
      ifMissed: window.ifMissed,
    };
  });
}

function closingFrom(opensAtMs: number, closesAtMs: number): number {
  return closesAtMs - Math.min(Math.max(0, closesAtMs - opensAtMs) * closingShare, closingAtMostMs);
}

function stateAt(
  opensAtMs: number | null,
  closingFromMs: number | null,
  closesAtMs: number | null,
  nowMs: number,
): WindowState["state"] {
  if (closesAtMs !== null && nowMs >= closesAtMs) return "missed";
  if (opensAtMs === null || nowMs < opensAtMs) return "not open";
  return closingFromMs !== null && nowMs >= closingFromMs ? "closing" : "open";
}
