/** Percentage cure along the ladder. */
import { text } from "../../words/text.ts";
import type { FaultLine } from "../faults.ts";
import type { StageName } from "./sheet.ts";

/** Where a sheet gives no percentage; assumed. */
const usualPercent: Record<StageName, number> = {
  "touch-dry": 10,
  "dust-free": 20,
  overcoat: 25,
  "tack-free": 35,
  sand: 50,
  demask: 50,
  assemble: 60,
  polish: 70,
  "full-cure": 100,
};

/** Share of the chemical conversion that a sheet's full cure stands for; assumed. */
export const conversionAtFullCure = 0.95;

/**
 * One percentage for each stage, strictly rising. Stages without one take the usual one; where that repeats the stage
 * before, the equal ones are spread evenly up to the next higher percentage. Adds a fault for each that does not rise.
 */
export function spreadPercents(
  stages: { stage: StageName; curePercent?: number | undefined }[],
  faults: FaultLine[],
): number[] {
  const percents = stages.map((stage) => stage.curePercent ?? usualPercent[stage.stage]);
  for (let start = 0; start < percents.length; ) {
    let end = start + 1;
    while (end < percents.length && stages[end]?.curePercent === undefined && percents[end] === percents[start]) end++;
    const from = percents[start] as number;
    const step = ((percents[end] ?? 100) - from) / (end - start);
    for (let index = start + 1; index < end; index++) percents[index] = from + step * (index - start);
    start = end;
  }
  percents.forEach((percent, index) => {
    const below = index === 0 ? 0 : (percents[index - 1] as number);
    if (percent > below) return;
    const isUsual = stages[index]?.curePercent === undefined;
    const given = isUsual ? " (the usual one, since the sheet gives none)" : "";
    faults.push({
      path: `stages.${index}.curePercent`,
      expected: `more than ${below}`,
      found: `${percent}${given}`,
      text: text(isUsual ? "sheet-fault.usual-percent" : "sheet-fault.percent", { below, percent }),
    });
  });
  return percents;
}

/**
 * Percentage cure a fraction q (0…1) of the way from one percentage to the next: second-order kinetics, in which
 * 1/(1 − α) rises evenly, as isocyanate and hydroxyl in balance react.
 */
export function percentWithin(fromPercent: number, toPercent: number, q: number): number {
  const perPercent = conversionAtFullCure / 100;
  const from = 1 / (1 - perPercent * fromPercent);
  const to = 1 / (1 - perPercent * toPercent);
  return (1 - 1 / (from + q * (to - from))) / perPercent;
}
