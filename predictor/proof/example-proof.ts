/** Invented coats and their figures for the tests beside this file. */
import type { BookRow } from "./book-row.ts";
import type { CoatFigures } from "./coat-figures.ts";

export const hourMs = 3_600_000;

export function exampleFigures(more: Partial<CoatFigures> = {}): CoatFigures {
  return {
    releaseStage: "polish",
    untilMs: hourMs,
    isOver: true,
    airC: { min: 18, mean: 19.5, max: 21, minutesOutside: 0 },
    panelC: null,
    rhPercent: { min: 40, mean: 50, max: 61, minutesOutside: null },
    dewMarginC: null,
    gapMinutes: 0,
    stages: [
      {
        stage: "demask",
        likelyAtMs: hourMs / 2,
        safeAtMs: hourMs / 2,
        readyCheckedAtMs: null,
        notYetCheckedAtMs: null,
      },
      { stage: "polish", likelyAtMs: hourMs, safeAtMs: hourMs, readyCheckedAtMs: null, notYetCheckedAtMs: null },
    ],
    coveredAtMs: null,
    waitedMinutes: null,
    deviations: [],
    ...more,
  };
}

export function exampleRow(coat: string, more: Partial<BookRow> = {}): BookRow {
  return {
    shop: "tested",
    coat,
    carId: `car-${coat}`,
    job: `J-${coat}`,
    car: "Grey van",
    panels: ["bonnet"],
    sheetId: "demo-clear",
    sheetRevision: 1,
    sheetName: "Invented clear",
    kind: "clearcoat",
    invented: true,
    place: "booth",
    who: "an invented painter",
    finishedAtMs: 0,
    safeAtMs: hourMs,
    verdict: null,
    isWithdrawn: false,
    deviations: [],
    figures: exampleFigures(),
    ...more,
  };
}
