/** An invented coat for the tests beside this file: finished at `minutes(0)`, times in minutes after that. */
import type { CoatView, StageView } from "../../predictor/serve/api.ts";

/** UTC ms of a minute after 2026-03-02 08:00 UTC. */
export const minutes = (after: number) => Date.UTC(2026, 2, 2, 8) + after * 60_000;
const iso = (after: number) => new Date(minutes(after)).toISOString();

export function exampleStage(
  stage: StageView["stage"],
  state: StageView["state"],
  likely: number | null,
  safe: number | null,
): StageView {
  return {
    stage,
    state,
    curePercent: 50,
    likelyAt: likely === null ? null : iso(likely),
    safeAt: safe === null ? null : iso(safe),
    isCovered: true,
  };
}

export type ExampleWindow = [state: "not open" | "open" | "closing" | "missed", opens: number, closes: number | null];

export function exampleCoat(id: string, stages: StageView[], windows: ExampleWindow[] = []): CoatView {
  return {
    id,
    carId: `car-${id}`,
    job: `J-${id}`,
    car: "Blue hatch",
    panels: ["door"],
    substrate: "steel",
    sheet: { id: "demo", revision: 1, name: "Demo clear", kind: "clearcoat", invented: true, cautions: [] },
    place: { id: "booth", name: "Booth", kind: "booth" },
    finishedAt: iso(0),
    filmUm: 55,
    covered: false,
    prediction: {
      asOf: iso(0),
      curePercent: 40,
      equivalentMinutes: 30,
      panelC: 20,
      panelEstimated: false,
      readingAt: iso(0),
      stages,
      windows: windows.map(([state, opens, closes]) => ({
        for: "next coat without sanding",
        opensAt: iso(opens),
        closesAt: closes === null ? null : iso(closes),
        state,
        ifMissed: "sand first",
      })),
      readyFor: stages.findLast((stage) => stage.state === "ready")?.stage ?? null,
      checkFirst: stages.findLast((stage) => stage.state === "check first")?.stage ?? null,
      next: stages.find((stage) => stage.state !== "ready") ?? null,
      lateToday: null,
      lesson: { text: "the sheet's own times, no check yet", checks: 0, percentSlower: 0, sigma: 0.12, isOff: false },
      notes: [],
    },
    why: null,
    bands: [{ kind: "place", text: "Booth", from: iso(0), to: null }],
    checks: [],
    corrections: [],
    withdrawn: null,
    who: "Ada",
    sprayCheck: null,
    batches: [],
    caution: "Gloves and mask on.",
  };
}
