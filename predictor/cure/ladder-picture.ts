/** What a drawing of a sheet needs: when each stage is likely at each constant temperature, by the model that follows coats. */
import type { Ladder } from "./ladder.ts";
import type { Sheet, StageName, WaitsFor } from "./sheet.ts";
import { startAscent } from "./start-ascent.ts";
import { Conditions } from "./stretch.ts";
import { curveThrough, gasConstantJPerMolK, kelvinAt0C } from "./time-curve.ts";

/** The humidity that a sheet's times hold for. */
const referenceRhPercent = 50;
const usualSpanC = { from: 5, to: 60 } as const;
/** Drawn beyond what the sheet covers. */
const beyondK = 5;
const coldestC = -20;
const warmestC = 150;
/** What takes longer is as good as never: a year. */
const mostMinutes = 365 * 24 * 60;

export interface PicturedStage {
  stage: StageName;
  /** Null where kinetics give the times. */
  by: WaitsFor | null;
  curePercent: number;
  /** What stands on the sheet, and not what is usual where it says nothing. */
  isPrinted: boolean;
  isPercentPrinted: boolean;
  /** As printed, by temperature. */
  anchors: { tempC: number; minutes: number }[];
  /** At each of `atC`; null where it is not reached within a year. */
  minutes: (number | null)[];
  /** The slope between two printed temperatures as an activation energy. */
  energies: { fromC: number; toC: number; kJ: number }[];
}

export interface LadderPicture {
  /** Panel and air temperatures, rising. */
  atC: number[];
  coversC: { from: number; to: number };
  /** What the curves hold for beside the temperature. */
  rhPercent: number;
  airSpeedMps: number;
  filmUm: number;
  stages: PicturedStage[];
  /** 20 °C, or what the sheet covers that is nearest to it. */
  reference: { tempC: number; minutes: (number | null)[] };
  /** In minutes after the finish, at the reference temperature; null where it never opens or closes. */
  windows: { for: string; opensMinutes: number | null; closesMinutes: number | null; ifMissed: string }[];
}

/** The picture of a sheet and its own ladder, whole degrees from 5 to 60 °C and as far as the sheet covers, within −20 and 150 °C. */
export function ladderPicture(sheet: Sheet, ladder: Ladder): LadderPicture {
  const { coversC, airSpeedMps, filmUm } = ladder;
  const fromC = Math.max(coldestC, Math.min(usualSpanC.from, Math.floor(coversC.from - beyondK)));
  const toC = Math.min(warmestC, Math.max(usualSpanC.to, Math.ceil(coversC.to + beyondK)));
  const atC = Array.from({ length: toC - fromC + 1 }, (_, index) => fromC + index);
  const minutesAtC = atC.map((tempC) => minutesAtConstant(ladder, tempC));
  const referenceC = Math.min(coversC.to, Math.max(coversC.from, 20));
  const reference = { tempC: referenceC, minutes: minutesAtConstant(ladder, referenceC) };
  return {
    ...{ atC, coversC, airSpeedMps, filmUm, rhPercent: referenceRhPercent, reference },
    stages: ladder.stages.map(({ stage, curePercent }, k) => {
      const printed = sheet.stages.find((each) => each.stage === stage);
      const anchors = Object.entries(printed?.minutesAtC ?? {})
        .map(([tempC, minutes]) => ({ tempC: Number(tempC), minutes }))
        .sort((a, b) => a.tempC - b.tempC);
      return {
        ...{ stage, curePercent, anchors },
        by: ladder.rungs[k]?.by ?? null,
        isPrinted: printed !== undefined,
        isPercentPrinted: printed?.curePercent !== undefined,
        minutes: minutesAtC.map((minutes) => minutes[k] ?? null),
        energies: energiesOf(anchors),
      };
    }),
    windows: ladder.windows.map((window) => {
      const minutesOf = (stage: StageName) =>
        reference.minutes[ladder.stages.findIndex((each) => each.stage === stage)] ?? null;
      const { opensAt, closesAt, closesAfterMinutes = null, atC: holdsAtC } = window;
      const perK = (ladder.activationEnergyKJ * 1000) / gasConstantJPerMolK;
      const slower =
        holdsAtC === undefined ? 1 : Math.exp(perK * (1 / (referenceC + kelvinAt0C) - 1 / (holdsAtC + kelvinAt0C)));
      return {
        for: window.for,
        opensMinutes: opensAt === "finish" ? 0 : minutesOf(opensAt),
        closesMinutes: closesAt === undefined ? closesAfterMinutes && closesAfterMinutes * slower : minutesOf(closesAt),
        ifMissed: window.ifMissed,
      };
    }),
  };
}

/** When each stage is likely with panel and air at a temperature for good. */
function minutesAtConstant(ladder: Ladder, tempC: number): (number | null)[] {
  const ascent = startAscent(ladder, { filmUm: undefined, uncertaintyC: 0, rateFactor: 1 });
  const held = Object.assign(new Conditions(), {
    ...{ minutes: 0, airC: tempC, panelC: tempC, sensorC: tempC },
    ...{ rhPercent: referenceRhPercent, airSpeedMps: ladder.airSpeedMps },
  });
  ascent.stepTo(held);
  return ascent.project(
    () => undefined,
    () =>
      ladder.stages.map((_, k) => {
        const minutes = ascent.likelyMinutes(k);
        return minutes <= mostMinutes ? minutes : null;
      }),
  );
}

function energiesOf(anchors: PicturedStage["anchors"]): PicturedStage["energies"] {
  if (anchors.length < 2) return [];
  const { anchorsC, lines } = curveThrough(
    anchors.map(({ tempC }) => tempC),
    anchors.map(({ minutes }) => minutes),
    0,
  );
  return lines.map(({ slopeK }, index) => ({
    fromC: anchorsC[index] as number,
    toC: anchorsC[index + 1] as number,
    kJ: (slopeK * gasConstantJPerMolK) / 1000,
  }));
}
