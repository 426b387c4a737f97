/** What a climb comes to, read off its ascent. */
import { type Ascent, slowestShare } from "./ascent.ts";
import type { CoatSetup, Note, Outcome, StageOutcome } from "./climb.ts";
import type { Ladder, Rung } from "./ladder.ts";
import { neverReachedNote, neverSafeNote, noReadingsNote, outsideSheetNote } from "./notes.ts";
import { percentWithin } from "./percent.ts";

/** Nine times in ten: the 90th percentile of the normal distribution. */
const ninetiethPercentile = 1.2816;
/** What takes a hundred years is taken never to happen; assumed. */
const neverMinutes = 100 * 365.25 * 24 * 60;
const msPerMinute = 60_000;
/** Standard deviation of ln(time) about a sheet; assumed. */
const usualSheetSigma = 0.15;

/** Progress and stages as of an instant, of an ascent that is projected to its end. */
export function progressAndStages(
  setup: CoatSetup,
  ascent: Ascent,
  asOfMs: number,
): Pick<Outcome, "curePercent" | "equivalentMinutes" | "stages"> {
  const minutes = (asOfMs - setup.finishedAtMs) / msPerMinute;
  const stages = setup.ladder.rungs.map((rung, k): StageOutcome => {
    const likely = finiteOrNull(ascent.likely.endedAt[k] as number);
    const safe = likely === null ? null : finiteOrNull(safeMinutes(setup, ascent, k));
    return {
      stage: rung.stage,
      curePercent: rung.curePercent,
      reached: likely !== null && likely <= minutes,
      likelyAtMs: instantOf(setup, likely),
      likelyMinutes: likely,
      safeAtMs: instantOf(setup, safe),
      safeMinutes: safe,
    };
  });
  return { ...progressAt(setup, ascent, minutes), stages };
}

/** The outcome of a coat that nothing can be said of, for want of readings at its finish. */
export function withoutPrediction(ladder: Ladder, asOfMs: number): Outcome {
  const none = { reached: false, likelyAtMs: null, likelyMinutes: null, safeAtMs: null, safeMinutes: null };
  return {
    asOfMs,
    curePercent: null,
    equivalentMinutes: null,
    stages: ladder.rungs.map(({ stage, curePercent }) => ({ stage, curePercent, ...none })),
    panelC: null,
    panelEstimated: false,
    notes: [noReadingsNote()],
  };
}

/** Notes on what the sheet does not cover and on stages without a time. */
export function notesOn(ladder: Ladder, stages: StageOutcome[], panel: { coldestC: number; warmestC: number }): Note[] {
  const outside = outsideSheetNote(ladder, panel.coldestC, panel.warmestC);
  const stageNotes = stages.flatMap(({ stage, likelyMinutes, safeMinutes: safe }) => {
    if (likelyMinutes === null) return [neverReachedNote(stage)];
    return safe === null ? [neverSafeNote(stage)] : [];
  });
  return outside === undefined ? stageNotes : [outside, ...stageNotes];
}

/** The run up to stage k with all rates slowed by what is uncertain about k; Infinity where it never ends. */
function safeMinutes(setup: CoatSetup, { clocks, likely, lowered }: Ascent, k: number): number {
  const fromTemperature = Math.log((lowered.endedAt[k] as number) / (likely.endedAt[k] as number));
  const slower = Math.exp(ninetiethPercentile * Math.hypot(setup.sheetSigma ?? usualSheetSigma, fromTemperature));
  if (!(slower <= slowestShare)) return Number.POSITIVE_INFINITY;
  const share = slower / (setup.rateFactor ?? 1);
  let minutes = 0;
  for (let rung = 0; rung <= k && minutes < Number.POSITIVE_INFINITY; rung++) {
    minutes = clocks.timeOf(rung, clocks.totalAt(rung, minutes) + share);
  }
  return minutes;
}

function progressAt(
  setup: CoatSetup,
  { clocks, likely }: Ascent,
  minutes: number,
): { curePercent: number; equivalentMinutes: number } {
  const { rungs } = setup.ladder;
  const endedBy = (k: number) => (likely.endedAt[k] as number) <= minutes;
  const climbing = rungs.findIndex((_, k) => !endedBy(k));
  const below = climbing < 0 ? rungs : rungs.slice(0, climbing);
  const belowMinutes = below.reduce((sum, rung) => sum + rung.minutesAt20C, 0);
  const belowPercent = below[below.length - 1]?.curePercent ?? 0;
  if (climbing < 0) return { curePercent: belowPercent, equivalentMinutes: belowMinutes };
  const rung = rungs[climbing] as Rung;
  const enteredAt = climbing === 0 ? 0 : (likely.endedAt[climbing - 1] as number);
  const summed = clocks.totalAt(climbing, minutes) - clocks.totalAt(climbing, enteredAt);
  const q = Math.min(1, Math.max(0, (setup.rateFactor ?? 1) * summed));
  return {
    curePercent: percentWithin(belowPercent, rung.curePercent, q),
    equivalentMinutes: belowMinutes + q * rung.minutesAt20C,
  };
}

function instantOf(setup: CoatSetup, minutes: number | null): number | null {
  return minutes === null ? null : Math.round(setup.finishedAtMs + minutes * msPerMinute);
}

function finiteOrNull(minutes: number): number | null {
  return minutes < neverMinutes ? minutes : null;
}
