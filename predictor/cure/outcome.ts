/** What a climb comes to, read off its ascent. */
import type { Ascent } from "./ascent.ts";
import type { CoatSetup, Note, Outcome, StageOutcome } from "./climb.ts";
import type { Ladder } from "./ladder.ts";
import { neverReachedNote, neverSafeNote, noReadingsNote, outsideSheetNote, stalledNote } from "./notes.ts";
import type { SheetWindow } from "./sheet.ts";
import { startAscent } from "./start-ascent.ts";
import { Conditions } from "./stretch.ts";
import { gasConstantJPerMolK, kelvinAt0C } from "./time-curve.ts";
import { ninetiethPercentile, usualSheetSigma } from "./uncertainty.ts";

/** What takes a hundred years is taken never to happen; assumed. */
const neverMinutes = 100 * 365.25 * 24 * 60;
const msPerMinute = 60_000;

/** How long each stage takes, by number, along one course of conditions to come; Infinity where it is never reached. */
export type StageMinutes = readonly number[];

/** Progress, stages and windows as of an instant, of an ascent that is projected to its end. */
export function progressAndStages(
  setup: CoatSetup,
  ascent: Ascent,
  asOfMs: number,
  /** Along the cold edge of the forecast; absent without one. */
  alongColdEdge: StageMinutes | undefined,
): Pick<Outcome, "curePercent" | "equivalentMinutes" | "stages" | "windowClosesAtMs"> {
  const minutes = (asOfMs - setup.finishedAtMs) / msPerMinute;
  const { coversC, stages: ofSheet, windows } = setup.ladder;
  const stages = ofSheet.map(({ stage, curePercent }, k): StageOutcome => {
    const likely = finiteOrNull(ascent.likelyMinutes(k));
    const panel = ascent.panelRange(likely ?? Number.POSITIVE_INFINITY);
    const safe =
      likely === null
        ? null
        : finiteOrNull(safeMinutes(setup, ascent, k, panel.coldestC, alongColdEdge?.[k] ?? likely));
    return {
      stage,
      curePercent,
      reached: likely !== null && likely <= minutes,
      likelyAtMs: instantOf(setup, likely),
      likelyMinutes: likely,
      safeAtMs: instantOf(setup, safe),
      safeMinutes: safe,
      isCovered: panel.coldestC >= coversC.from && panel.warmestC <= coversC.to,
    };
  });
  const windowClosesAtMs = windows.map((window) => instantOf(setup, closesMinutes(setup.ladder, ascent, window)));
  return { ...ascent.progressAt(minutes), stages, windowClosesAtMs };
}

/** The outcome of a coat that nothing can be said of, for want of readings at its finish. */
export function withoutPrediction({ ladder, finishedAtMs }: CoatSetup, asOfMs: number): Outcome {
  const none = {
    reached: false,
    likelyAtMs: null,
    likelyMinutes: null,
    safeAtMs: null,
    safeMinutes: null,
    isCovered: false,
  };
  return {
    asOfMs,
    curePercent: null,
    equivalentMinutes: null,
    stages: ladder.stages.map(({ stage, curePercent }) => ({ stage, curePercent, ...none })),
    windowClosesAtMs: ladder.windows.map(({ closesAfterMinutes, atC }) =>
      closesAfterMinutes === undefined || atC !== undefined ? null : finishedAtMs + closesAfterMinutes * msPerMinute,
    ),
    panelC: null,
    panelEstimated: false,
    notes: [noReadingsNote()],
  };
}

/** Notes on what the sheet does not cover and on stages without a time. */
export function notesOn(
  ladder: Ladder,
  stages: StageOutcome[],
  panel: { coldestC: number; warmestC: number },
  stallsAtPercent: number | null,
): Note[] {
  const outside = outsideSheetNote(ladder, panel.coldestC, panel.warmestC);
  const stageNotes = stages.flatMap(({ stage, likelyMinutes, safeMinutes: safe }) => {
    if (likelyMinutes === null) return [neverReachedNote(stage)];
    return safe === null ? [neverSafeNote(stage)] : [];
  });
  const stalled = stallsAtPercent === null ? [] : [stalledNote(stallsAtPercent)];
  return [...(outside === undefined ? [] : [outside]), ...stalled, ...stageNotes];
}

/** The run up to stage k with all rates slowed by what is uncertain about k; Infinity where it never ends. */
function safeMinutes(
  setup: CoatSetup,
  ascent: Ascent,
  k: number,
  coldestC: number,
  alongColdEdgeMinutes: number,
): number {
  const likely = ascent.likelyMinutes(k);
  const ofTemperature = Math.log(ascent.loweredMinutes(k) / likely);
  const ofForecast = Math.log(alongColdEdgeMinutes / likely) / ninetiethPercentile;
  const besides = Math.hypot(ofTemperature, ofForecast, coldSigma(setup, coldestC));
  const minutesWith = (sheetSigma: number, rateFactor: number) => {
    const slower = Math.exp(-ninetiethPercentile * Math.hypot(sheetSigma, besides));
    return slower > 0 ? ascent.minutesAtFactor(k, rateFactor * slower) : Number.POSITIVE_INFINITY;
  };
  const safe = minutesWith(setup.sheetSigma ?? usualSheetSigma, setup.safeRateFactor ?? setup.rateFactor ?? 1);
  if (setup.keepsToSheet !== true) return safe;
  const bySheet = minutesAtConstant(setup, k, ascent.panelRange(safe).warmestC);
  return Math.max(safe, Math.min(bySheet, minutesWith(usualSheetSigma, 1)));
}

/** The sheet's own minutes to stage k for this film with the panel and the air at one temperature, at 50 % humidity. */
function minutesAtConstant({ ladder, filmUm }: CoatSetup, k: number, tempC: number): number {
  const ascent = startAscent(ladder, { filmUm, uncertaintyC: 0, rateFactor: 1 });
  const { airSpeedMps } = ladder;
  const held = new Conditions();
  Object.assign(held, { minutes: 0, airC: tempC, rhPercent: 50, airSpeedMps, panelC: tempC });
  ascent.stepTo(held);
  return ascent.project(
    () => {},
    () => ascent.likelyMinutes(k),
  );
}

/** What an uncertain activation energy makes of ln(time) at the coldest panel, where that is below what the sheet covers. */
function coldSigma({ coldEnergyKJ = 0, ladder }: CoatSetup, coldestC: number): number {
  if (!(coldestC < ladder.coversC.from)) return 0;
  const inverseK = 1 / (coldestC + kelvinAt0C) - 1 / (ladder.coversC.from + kelvinAt0C);
  return ((coldEnergyKJ * 1000) / gasConstantJPerMolK) * inverseK;
}

function closesMinutes(ladder: Ladder, ascent: Ascent, window: SheetWindow): number | null {
  const { closesAfterMinutes, closesAt, atC } = window;
  if (closesAfterMinutes === undefined) {
    const k = ladder.stages.findIndex(({ stage }) => stage === closesAt);
    return k < 0 ? null : finiteOrNull(ascent.likelyMinutes(k));
  }
  if (atC === undefined) return closesAfterMinutes;
  const slopeK = (ladder.activationEnergyKJ * 1000) / gasConstantJPerMolK;
  const inverseAtK = 1 / (atC + kelvinAt0C);
  return finiteOrNull(
    ascent.minutesUntil(closesAfterMinutes, (panelC) => Math.exp(slopeK * (inverseAtK - 1 / (panelC + kelvinAt0C)))),
  );
}

function instantOf(setup: CoatSetup, minutes: number | null): number | null {
  return minutes === null ? null : Math.round(setup.finishedAtMs + minutes * msPerMinute);
}

function finiteOrNull(minutes: number): number | null {
  return minutes < neverMinutes ? minutes : null;
}
