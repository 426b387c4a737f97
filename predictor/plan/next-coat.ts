/** Whether a coat may take the next one at an instant. */
import type { Outcome } from "../cure/climb.ts";
import type { Sheet, StageName } from "../cure/sheet.ts";
import { sheetWindows, type WindowState } from "../cure/windows.ts";
import { type Readiness, readyBy } from "./start-by.ts";

export interface NextCoatVerdict {
  state: "too early" | "check first" | "in its window" | "too late" | "not on the sheet";
  /** What may be done at that instant by the window that it falls into; null outside a window or without one on the sheet. */
  for: string | null;
  /** What must be done before the next coat, from the sheet; only for `too late`. */
  mustBeDone: string[];
}

/**
 * Judged by every window on the sheet, the one that is furthest open counting; a sheet without windows by its `overcoat`
 * stage or, without that, by `sand`. A window that opens at the finish still waits for `overcoat` where the sheet has it.
 */
export function nextCoatVerdict(sheet: Sheet, outcome: Outcome, finishedAtMs: number, atMs: number): NextCoatVerdict {
  const has = (stage: StageName) => outcome.stages.some((each) => each.stage === stage);
  const usual = (["overcoat", "sand"] as const).find(has);
  if (sheet.windows.length === 0) {
    if (usual === undefined) return { state: "not on the sheet", for: null, mustBeDone: [] };
    return { state: stateBefore[readyBy(outcome, usual, atMs)], for: null, mustBeDone: [] };
  }
  const windows = sheetWindows(sheet, outcome, finishedAtMs, atMs).map((window, index) => {
    const opensAt = sheet.windows[index]?.opensAt ?? "finish";
    const gate = opensAt !== "finish" ? opensAt : has("overcoat") ? "overcoat" : null;
    return { window, state: stateOf(window, gate === null || !has(gate) ? "ready" : readyBy(outcome, gate, atMs)) };
  });
  const best = order.map((state) => windows.find((each) => each.state === state)).find((found) => found !== undefined);
  const state = best?.state ?? "too early";
  return {
    state,
    for: state === "in its window" ? (best?.window.for ?? null) : null,
    mustBeDone:
      state === "too late"
        ? windows.filter((each) => each.state === "too late").map(({ window }) => window.ifMissed)
        : [],
  };
}

/** From the best for the painter to the worst; where one window is missed and another not open yet, the missed one is told. */
const order = ["in its window", "check first", "too late", "too early"] as const;

const stateBefore = { ready: "in its window", "check first": "check first", "not today": "too early" } as const;

function stateOf(window: WindowState, readiness: Readiness): NextCoatVerdict["state"] {
  return window.state === "missed" ? "too late" : stateBefore[readiness];
}
