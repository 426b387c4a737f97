/** Whether kinetics and the stages of their sheet hold together. */
import { text } from "../../../words/text.ts";
import type { FaultLine } from "../../faults.ts";
import { conversionAtFullCure } from "../percent.ts";
import type { StageName } from "../sheet.ts";
import type { Gel, Kinetics } from "./kinetics.ts";

/** A stage and the share of full cure, in percent, at which it is reached. */
export interface KineticStage {
  stage: StageName;
  curePercent: number;
}

/** Conversion at which a stage stands. */
export function conversionOf({ curePercent }: { curePercent: number }): number {
  return (conversionAtFullCure * curePercent) / 100;
}

/**
 * Conversion of groups A at which the film gels, 1/sqrt(r·(f − 1)·(g − 1)) after Flory and Stockmayer; above 1 where it
 * never does. Real coatings gel somewhat later.
 */
export function gelConversion({ functionalityA, functionalityB, ratio }: Gel): number {
  return 1 / Math.sqrt(ratio * (functionalityA - 1) * (functionalityB - 1));
}

/** Stages that a film cannot bear while it is liquid. */
const solidStages: readonly StageName[] = ["sand", "assemble", "polish", "full-cure"];

/** What does not hold together between kinetics of the right form and the stages of their sheet. */
export function kineticsFaults(kinetics: Kinetics, stages: readonly KineticStage[]): FaultLine[] {
  const faults: FaultLine[] = [];
  const gelsAt = kinetics.gel === undefined ? 0 : gelConversion(kinetics.gel);
  stages.forEach((stage, index) => {
    const path = `stages.${index}.curePercent`;
    const found = `${stage.curePercent}`;
    if (!(conversionOf(stage) > kinetics.initialConversion)) {
      const least = percentOf(kinetics.initialConversion);
      const expected = `more than ${least}, initialConversion`;
      faults.push({ path, expected, found, text: text("sheet-fault.initial", { percent: Number(least) }) });
    }
    if (solidStages.includes(stage.stage) && !(conversionOf(stage) >= gelsAt)) {
      const least = percentOf(gelsAt);
      const expected = `${least} or more, where the film gels, for ${stage.stage}`;
      const values = { percent: Number(least), stage: { prefix: "stage", name: stage.stage } };
      faults.push({ path, expected, found, text: text("sheet-fault.gel", values) });
    }
  });
  return faults;
}

function percentOf(conversion: number): string {
  return ((100 * conversion) / conversionAtFullCure).toFixed(1);
}
