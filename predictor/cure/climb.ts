/** The types that callers of the cure model use; see docs/model.md. */
import type { Text } from "../../words/text.ts";
import type { Ladder } from "./ladder.ts";
import type { Substrate } from "./panel.ts";
import type { StageName } from "./sheet.ts";

/** The air and panel at one instant, all quantities of one place. Two in a row may share an instant: a step. */
export interface ClimateReading {
  atMs: number;
  airC: number;
  rhPercent: number;
  /** Measured panel temperature; absent or null when no panel sensor tells. */
  panelC?: number | null;
  /** The sheet's own air speed when absent. */
  airSpeedMps?: number;
  /** First reading in another place: the panel keeps its temperature and drifts, it does not jump. */
  movedIn?: boolean;
}

/** Conditions to come, in order of time, evenly from one to the next; two at one instant are a step; the last one holds for ever. */
export interface Ahead {
  likely: readonly ClimateReading[];
  /** The same along the cold edge of the forecast: one time in ten it is colder. */
  cold?: readonly ClimateReading[];
}

export interface CoatSetup {
  ladder: Ladder;
  finishedAtMs: number;
  /** Dry film build; the sheet's own when absent. */
  filmUm?: number;
  substrate: Substrate;
  /** Time constant of the panel behind the air, in seconds, instead of the substrate's. */
  panelLagSeconds?: number;
  /** Panel temperature entered by a person at the finish. */
  panelAtFinishC?: number;
  /** Standard uncertainty of the panel temperature; 0.3 K when absent. */
  temperatureUncertaintyC?: number;
  /** Standard deviation of ln(time) about the sheet; 0.15 (assumed) when absent. */
  sheetSigma?: number;
  /** One factor on all rates, learned from checks; 1 when absent. */
  rateFactor?: number;
  /** The factor that `safe` starts from; `rateFactor` when absent. */
  safeRateFactor?: number;
  /** Whether what was learned may not take `safe` below the sheet's own minutes at the warmest panel until then. */
  keepsToSheet?: boolean;
  /** Standard uncertainty of the activation energy below the temperatures that the sheet covers, in kJ/mol; 0 when absent. */
  coldEnergyKJ?: number;
}

export interface StageOutcome {
  stage: StageName;
  curePercent: number;
  /** Likely time has passed at `asOf`. */
  reached: boolean;
  likelyAtMs: number | null;
  likelyMinutes: number | null;
  safeAtMs: number | null;
  safeMinutes: number | null;
  /** Up to its likely time the panel is within the temperatures that the sheet covers. */
  isCovered: boolean;
}

export const noteCodes = [
  "gap",
  "outside-sheet",
  "panel-estimated",
  "stage-never-reached",
  "stalled",
  "no-readings",
  "held-back-to-finish",
  "from-means",
] as const;
export type NoteCode = (typeof noteCodes)[number];

export interface Note {
  code: NoteCode;
  text: Text;
  fromMs?: number;
  toMs?: number;
}

export interface Outcome {
  asOfMs: number;
  /** Null, like all below, when there is no prediction: the note `no-readings` says why. */
  curePercent: number | null;
  /** Minutes at 20 °C, 50 % RH, the sheet's film and air speed that bring a coat to the same point. */
  equivalentMinutes: number | null;
  stages: StageOutcome[];
  /** When each window of the sheet closes, in its order; null where that is not known. */
  windowClosesAtMs: (number | null)[];
  /** Panel temperature at `asOf`, and whether it is an estimate. */
  panelC: number | null;
  panelEstimated: boolean;
  notes: Note[];
}
