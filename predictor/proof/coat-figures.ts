/** What came of a coat: the figures that a quality lead reads, and where it went off its sheet. */
import { dewPointC } from "../air/humidity.ts";
import type { ClimateReading } from "../cure/climb.ts";
import { leastDewMarginC } from "../cure/limits.ts";
import type { Sheet, StageName } from "../cure/sheet.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { gapMs } from "../follow/merge.ts";
import { nextCoatVerdict } from "../plan/next-coat.ts";
import type { Check, Coat } from "../records/records.ts";
import { gapMinutes, type Spread, spreadOf } from "./spread.ts";

/** Codes of deviations, in the order in which they are told. */
export const deviationCodes = [
  "sprayed-outside-limits",
  "limits-not-judged",
  "no-prediction",
  "gap",
  "dried-outside-limits",
  "window-missed",
  "covered-early",
  "not-ready-when-safe",
] as const;
export type DeviationCode = (typeof deviationCodes)[number];

export interface StageFigures {
  stage: StageName;
  likelyAtMs: number | null;
  safeAtMs: number | null;
  /** The first check that counts and found it ready, and the last one before that which did not. */
  readyCheckedAtMs: number | null;
  notYetCheckedAtMs: number | null;
}

export interface CoatFigures {
  /** The stage after which it may leave: the sheet's last before full cure. */
  releaseStage: StageName;
  /** From the finish until whichever comes first: that stage is safe, the next coat lies on it, the car has left, or now. */
  untilMs: number;
  /** Nothing that is still to come changes them. */
  isOver: boolean;
  /** Null where nothing is known of the quantity. The panel as the coat was followed by: measured or estimated. */
  airC: Spread | null;
  panelC: Spread | null;
  rhPercent: Spread | null;
  /** Panel minus dew point. */
  dewMarginC: Spread | null;
  /** Without a reading for longer than is bridged. */
  gapMinutes: number;
  stages: StageFigures[];
  /** When the next coat was finished on any of its panels. */
  coveredAtMs: number | null;
  /** From the safe time of what was waited for to the next coat or the car's leaving; null while it is not known, or where neither waited. */
  waitedMinutes: number | null;
  deviations: DeviationCode[];
}

/** So long outside a limit while drying is no deviation: assumed. */
const outsideForMinutes = 5;
const msPerMinute = 60_000;

export interface FiguresOf {
  state: CoatState;
  /** The climate the coat had, from its finish on, in order of time. */
  readings: readonly ClimateReading[];
  /** Those that count. */
  checks: readonly Check[];
  /** Of the same car, those that count. */
  coatsOfCar: readonly Coat[];
  nowMs: number;
}

export function releaseStageOf(sheet: Sheet): StageName {
  return sheet.stages.findLast(({ stage }) => stage !== "full-cure")?.stage ?? "full-cure";
}

export function coatFigures({ state, readings, checks, coatsOfCar, nowMs }: FiguresOf): CoatFigures {
  const { coat, sheet, outcome, stays } = state;
  const fromMs = coat.finishedAtMs;
  const releaseStage = releaseStageOf(sheet);
  const safeAtMs = outcome.stages.find(({ stage }) => stage === releaseStage)?.safeAtMs ?? null;
  const coveredAtMs = coveredAt(coat, coatsOfCar);
  const leftAtMs = stays.at(-1)?.toMs ?? nowMs;
  const endMs = Math.min(safeAtMs ?? Number.POSITIVE_INFINITY, coveredAtMs ?? Number.POSITIVE_INFINITY, leftAtMs);
  const untilMs = Math.max(fromMs, Math.min(endMs, nowMs));
  const figures = {
    releaseStage,
    untilMs,
    isOver: endMs <= nowMs,
    ...spreads(state, readings, untilMs),
    gapMinutes: gapMinutes(readings, fromMs, untilMs, gapMs),
    stages: outcome.stages.map(({ stage, likelyAtMs, safeAtMs: stageSafeAtMs }): StageFigures => {
      const ofStage = checks.filter((check) => check.stage === stage);
      const readyCheckedAtMs = ofStage.find(({ ready }) => ready)?.atMs ?? null;
      const notYet = ofStage.findLast(({ ready, atMs }) => !ready && !(atMs > (readyCheckedAtMs ?? atMs)));
      return { stage, likelyAtMs, safeAtMs: stageSafeAtMs, readyCheckedAtMs, notYetCheckedAtMs: notYet?.atMs ?? null };
    }),
    coveredAtMs,
    waitedMinutes: waitedMinutes(state, coveredAtMs, leftAtMs, nowMs),
  };
  return { ...figures, deviations: deviationsOf(state, figures, checks) };
}

function spreads({ coat, sheet, course }: CoatState, readings: readonly ClimateReading[], untilMs: number) {
  const limits = sheet.limits ?? {};
  const within = readings.filter(({ atMs }) => atMs >= coat.finishedAtMs && atMs <= untilMs);
  const panels = course(within.map(({ atMs }) => atMs)).map((point) => point?.panelC ?? null);
  const line = (read: (reading: ClimateReading, index: number) => number | null) =>
    within.flatMap((reading, index) => {
      const value = read(reading, index);
      return value === null ? [] : [{ atMs: reading.atMs, value }];
    });
  const panelOf = (index: number) => panels[index] ?? null;
  return {
    airC: spreadOf(
      line(({ airC }) => airC),
      limits.airC,
      gapMs,
    ),
    panelC: spreadOf(
      line((_, index) => panelOf(index)),
      limits.panelC,
      gapMs,
    ),
    rhPercent: spreadOf(
      line(({ rhPercent }) => rhPercent),
      limits.rhPercent,
      gapMs,
    ),
    dewMarginC: spreadOf(
      line(({ airC, rhPercent }, index) => {
        const panelC = panelOf(index);
        return panelC === null || !(rhPercent > 0) ? null : panelC - dewPointC(airC, rhPercent);
      }),
      { min: leastDewMarginC },
      gapMs,
    ),
  };
}

/** When the next coat was finished on any of its panels; null while none was. */
function coveredAt(coat: Coat, coatsOfCar: readonly Coat[]): number | null {
  const index = coatsOfCar.findIndex(({ id }) => id === coat.id);
  const next = coatsOfCar.slice(index + 1).find(({ panels }) => panels.some((panel) => coat.panels.includes(panel)));
  return index < 0 ? null : (next?.finishedAtMs ?? null);
}

/** A coat that is covered waited from when the next coat was safe to come; one that is not, from its release stage to the car's leaving. */
function waitedMinutes(
  { sheet, outcome }: CoatState,
  coveredAtMs: number | null,
  leftAtMs: number,
  nowMs: number,
): number | null {
  const stage = coveredAtMs === null ? releaseStageOf(sheet) : (["overcoat", "sand"] as const).find(isOnSheet(sheet));
  const safeAtMs = outcome.stages.find((each) => each.stage === stage)?.safeAtMs ?? null;
  const endMs = coveredAtMs ?? (leftAtMs <= nowMs ? leftAtMs : null);
  return safeAtMs === null || endMs === null ? null : Math.max(0, endMs - safeAtMs) / msPerMinute;
}

const isOnSheet = (sheet: Sheet) => (stage: StageName) => sheet.stages.some((each) => each.stage === stage);

function deviationsOf(
  { coat, sheet, outcome }: CoatState,
  figures: Omit<CoatFigures, "deviations">,
  checks: readonly Check[],
): DeviationCode[] {
  const { airC, panelC, rhPercent, dewMarginC, coveredAtMs, stages } = figures;
  const outside = [airC, panelC, rhPercent, dewMarginC].map((spread) => spread?.minutesOutside ?? 0);
  const next =
    coveredAtMs === null || outcome.curePercent === null
      ? null
      : nextCoatVerdict(sheet, outcome, coat.finishedAtMs, coveredAtMs).state;
  const wasFoundReady = checks.some(({ ready, atMs }) => ready && atMs <= (coveredAtMs ?? atMs));
  const holds: Record<DeviationCode, boolean> = {
    "sprayed-outside-limits": coat.sprayCheck?.state === "do not spray",
    "limits-not-judged": coat.sprayCheck === null || coat.sprayCheck.state === "no verdict",
    "no-prediction": outcome.curePercent === null,
    gap: figures.gapMinutes > 0,
    "dried-outside-limits": outside.some((minutes) => minutes > outsideForMinutes),
    "window-missed": next === "too late",
    "covered-early": (next === "too early" || next === "check first") && !wasFoundReady,
    "not-ready-when-safe": stages.some(
      ({ safeAtMs, notYetCheckedAtMs }) =>
        safeAtMs !== null && notYetCheckedAtMs !== null && notYetCheckedAtMs >= safeAtMs,
    ),
  };
  return deviationCodes.filter((code) => holds[code]);
}
