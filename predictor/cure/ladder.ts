/** A sheet turned into rungs: how long each takes at what panel temperature. docs/model.md has the reasoning. */
import { type Text, text } from "../../words/text.ts";
import { lnSaturation } from "../air/humidity.ts";
import { type FaultLine, faultLines } from "../faults.ts";
import { kineticsFaults } from "./kinetics/kinetic-stages.ts";
import type { Kinetics } from "./kinetics/kinetics.ts";
import { spreadPercents } from "./percent.ts";
import { type Sheet, type SheetStage, type SheetWindow, type StageName, sheetSchema, type WaitsFor } from "./sheet.ts";
import { SheetFault } from "./sheet-fault.ts";
import { lnSolventPressure } from "./solvent.ts";
import { curveThrough, minutesAt, type TimeCurve } from "./time-curve.ts";

/** The way from one stage to the next: by reaction or moisture along a curve over temperature, by water or solvent from one time. */
export interface Rung {
  stage: StageName;
  by: WaitsFor;
  /** Percentage cure at its upper end. */
  curePercent: number;
  /** Minutes over temperature on the ladder's anchors; for water and solvent its only use is at `referenceC`. */
  curve: TimeCurve;
  /** The temperature that a water or solvent stage is given at. */
  referenceC: number;
  minutesAtReference: number;
  /** Minutes at 20 °C, 50 % RH, the sheet's film and air speed: its share of the equivalent age. */
  minutesAt20C: number;
  humiditySensitivity: number;
  filmExponent: number;
}

export interface Ladder {
  sheetId: string;
  sheetRevision: number;
  /** In order, with the percentage cure at each. */
  stages: { stage: StageName; curePercent: number }[];
  /** None where kinetics take their place. */
  rungs: Rung[];
  kinetics: Kinetics | null;
  /** All temperatures that the sheet gives times at, in °C, rising. */
  anchorsC: number[];
  /** The panel temperatures that the sheet covers: those it gives times at, give or take 2 K, and none below its least for spraying. */
  coversC: { from: number; to: number };
  filmUm: number;
  airSpeedMps: number;
  activationEnergyKJ: number;
  windows: SheetWindow[];
}

/** Film exponents where the sheet gives none; assumed. */
const usualFilmExponent: Record<WaitsFor, number> = { reaction: 1, moisture: 1, water: 1, solvent: 1.5 };
/** Full cure where the sheet gives none: 7 days at 20 °C; common practice. */
const usualFullCure: SheetStage = { stage: "full-cure", minutesAtC: { "20": 7 * 24 * 60 }, by: "reaction" };

/** A standard climate's temperature holds within 2 K (ISO 3270, as ASTM D7539 quotes it of ASTM D3924); so do a sheet's, assumed. */
const climateToleranceK = 2;

/** The ladder of a sheet; throws a SheetFault that lists all that does not hold together in it. */
export function buildLadder(sheet: Sheet): Ladder {
  const faults: FaultLine[] = [];
  checkOrder(sheet.stages, faults);
  const { kinetics } = sheet;
  const rungs = kinetics === undefined ? rungsOf(sheet, faults) : [];
  const stages =
    kinetics === undefined
      ? rungs.map(({ stage, curePercent }) => ({ stage, curePercent }))
      : percentStages(sheet, faults);
  if (kinetics !== undefined) faults.push(...kineticsFaults(kinetics, stages));
  if (faults.length > 0) throw new SheetFault(faults);
  const anchorsC = kinetics === undefined ? anchorsOf(sheet) : [kinetics.validC.min, kinetics.validC.max];
  return {
    sheetId: sheet.id,
    sheetRevision: sheet.revision,
    stages,
    rungs,
    kinetics: kinetics ?? null,
    anchorsC,
    coversC: {
      from: Math.max(
        (anchorsC[0] as number) - climateToleranceK,
        sheet.limits?.panelC?.min ?? Number.NEGATIVE_INFINITY,
      ),
      to: (anchorsC[anchorsC.length - 1] as number) + climateToleranceK,
    },
    filmUm: sheet.film.dryUm,
    airSpeedMps: sheet.airSpeedMps,
    activationEnergyKJ: sheet.activationEnergyKJ,
    windows: sheet.windows,
  };
}

/** The stages of a sheet with kinetics, full cure at 100 % among them. */
function percentStages(sheet: Sheet, faults: FaultLine[]): Ladder["stages"] {
  const ofSheet = sheet.stages.map(({ stage, curePercent }) => ({
    stage,
    ...(curePercent === undefined ? {} : { curePercent }),
  }));
  const stages = ofSheet.some(({ stage }) => stage === "full-cure")
    ? ofSheet
    : [...ofSheet, { stage: "full-cure" as const, curePercent: 100 }];
  const percents = spreadPercents(stages, faults);
  return stages.map(({ stage }, index) => ({ stage, curePercent: percents[index] as number }));
}

/** All temperatures that a sheet gives times at, in °C, rising; that of the usual full cure too. */
function anchorsOf(sheet: Sheet): number[] {
  const keys = timedStages(sheet).flatMap(({ minutesAtC }) => Object.keys(minutesAtC ?? {}));
  return [...new Set(keys.map(Number))].sort((a, b) => a - b);
}

function timedStages(sheet: Sheet): SheetStage[] {
  return sheet.stages.some(({ stage }) => stage === "full-cure") ? sheet.stages : [...sheet.stages, usualFullCure];
}

function rungsOf(sheet: Sheet, faults: FaultLine[]): Rung[] {
  const stages = timedStages(sheet);
  const anchorsC = anchorsOf(sheet);
  const percents = spreadPercents(stages, faults);
  const totals = stages.map((stage, index) => totalCurve(stage, index, sheet.activationEnergyKJ, faults));
  return stages.map((stage, index): Rung => {
    const total = totals[index] as TimeCurve;
    const below = totals[index - 1];
    const span = (tempC: number) => minutesAt(total, tempC) - (below ? minutesAt(below, tempC) : 0);
    const evaporates = stage.by === "water" || stage.by === "solvent";
    const rungAnchorsC = evaporates ? total.anchorsC : anchorsC;
    for (const tempC of rungAnchorsC) {
      if (span(tempC) > 0) continue;
      faults.push({
        path: `stages.${index}.minutesAtC`,
        expected: `${stage.stage} later than ${stages[index - 1]?.stage ?? "the finish"} at ${tempC} °C`,
        found: `${rounded(minutesAt(total, tempC))} min against ${below ? rounded(minutesAt(below, tempC)) : 0} min`,
        text: text("sheet-fault.later", {
          stage: named(stage.stage),
          before: stages[index - 1] === undefined ? text("sheet-fault.finish") : named(stages[index - 1]?.stage ?? ""),
          at: { celsius: tempC },
          minutes: Number(rounded(minutesAt(total, tempC))),
          than: below ? Number(rounded(minutesAt(below, tempC))) : 0,
        }),
      });
    }
    const curve = curveThrough(rungAnchorsC, rungAnchorsC.map(span), sheet.activationEnergyKJ);
    const referenceC = total.anchorsC[0] as number;
    return {
      stage: stage.stage,
      by: stage.by,
      curePercent: percents[index] as number,
      curve,
      referenceC,
      minutesAtReference: span(referenceC),
      minutesAt20C: minutesAt20C(stage.by, curve, referenceC, span(referenceC)),
      humiditySensitivity: stage.humiditySensitivity ?? sheet.humiditySensitivity,
      filmExponent: sheet.filmExponent ?? usualFilmExponent[stage.by],
    };
  });
}

/** A sheet of unknown make with its ladder, or every fault: first in its form and, when that is right, in its sense. */
export function readSheet(input: unknown): { sheet: Sheet; ladder: Ladder } | { faults: FaultLine[] } {
  const parsed = sheetSchema.safeParse(input);
  if (!parsed.success) return { faults: faultLines(parsed.error, input) };
  try {
    return { sheet: parsed.data, ladder: buildLadder(parsed.data) };
  } catch (error) {
    if (error instanceof SheetFault) return { faults: error.faults };
    throw error;
  }
}

function checkOrder(stages: SheetStage[], faults: FaultLine[]): void {
  stages.forEach(({ stage, curePercent }, index) => {
    if (stages.findIndex((other) => other.stage === stage) < index) {
      faults.push({
        path: `stages.${index}.stage`,
        expected: "each stage once",
        found: `${stage} again`,
        text: text("sheet-fault.stage-again", { stage: named(stage) }),
      });
    }
    if (stage !== "full-cure") return;
    if (index < stages.length - 1) {
      faults.push({
        path: `stages.${index}.stage`,
        expected: "full-cure as the last stage",
        found: `stages after it`,
        text: text("sheet-fault.full-cure-last"),
      });
    }
    if (curePercent !== undefined && curePercent !== 100) {
      faults.push({
        path: `stages.${index}.curePercent`,
        expected: "100, which full cure means",
        found: `${curePercent}`,
        text: text("sheet-fault.full-cure-percent"),
      });
    }
  });
}

/** A stage's minutes since the finish over temperature. */
function totalCurve(stage: SheetStage, index: number, activationEnergyKJ: number, faults: FaultLine[]): TimeCurve {
  const anchors = Object.entries(stage.minutesAtC ?? {})
    .map(([tempC, minutes]) => ({ tempC: Number(tempC), minutes }))
    .sort((a, b) => a.tempC - b.tempC);
  const path = `stages.${index}.minutesAtC`;
  anchors.forEach(({ tempC }, place) => {
    if (anchors[place + 1]?.tempC === tempC)
      faults.push({
        path,
        expected: "each temperature once",
        found: `${tempC} °C twice`,
        text: text("sheet-fault.temperature-again", { at: { celsius: tempC } }),
      });
  });
  if ((stage.by === "water" || stage.by === "solvent") && anchors.length > 1) {
    faults.push({
      path,
      expected: `one temperature only: ${stage.stage} waits for ${stage.by}, whose vapour pressure gives the other times`,
      found: anchors.map(({ tempC }) => `${tempC} °C`).join(", "),
      text: text(`sheet-fault.one-temperature-${stage.by}`, { stage: named(stage.stage) }),
    });
  }
  const distinct = anchors.filter(({ tempC }, place) => tempC !== anchors[place - 1]?.tempC);
  return curveThrough(
    distinct.map(({ tempC }) => tempC),
    distinct.map(({ minutes }) => minutes),
    activationEnergyKJ,
  );
}

const named = (stage: string): Exclude<Text["values"], undefined>[string] => ({ prefix: "stage", name: stage });

function minutesAt20C(by: WaitsFor, curve: TimeCurve, referenceC: number, minutesAtReference: number): number {
  if (by === "water") {
    return minutesAtReference * Math.exp(lnSaturation(referenceC) - lnSaturation(20));
  }
  if (by === "solvent") return minutesAtReference * Math.exp(lnSolventPressure(referenceC) - lnSolventPressure(20));
  return minutesAt(curve, 20);
}

function rounded(minutes: number): string {
  return String(Number(minutes.toPrecision(6)));
}
