import { describe, expect, it } from "vitest";
import type { CoatFigures } from "./coat-figures.ts";
import { type FiguredCoat, quantile, spanFigures } from "./span-figures.ts";

const minute = 60_000;
const spread = (minutesOutside: number | null) => ({ min: 1, mean: 2, max: 3, minutesOutside });
let made = 0;
function coat(figures: Partial<CoatFigures>, more: Partial<FiguredCoat> = {}): FiguredCoat {
  return {
    coatId: String(made++),
    sheetId: "s",
    sheetRevision: 1,
    place: "booth",
    finishedAtMs: 0,
    figures: {
      releaseStage: "sand",
      untilMs: 100 * minute,
      isOver: true,
      airC: null,
      panelC: null,
      rhPercent: null,
      dewMarginC: null,
      gapMinutes: 0,
      stages: [],
      coveredAtMs: null,
      waitedMinutes: null,
      deviations: [],
      ...figures,
    },
    ...more,
  };
}

describe("spanFigures", () => {
  it("takes of each coat what was outside longest, and the drying time of those that could be judged", () => {
    const { all } = spanFigures([
      coat({ airC: spread(10), rhPercent: spread(30), panelC: spread(null) }),
      coat({ dewMarginC: spread(0) }),
      coat({ airC: spread(null) }),
    ]);
    expect(all).toMatchObject({ coats: 3, dryingHours: 200 / 60, outsideHours: 0.5, outsideShare: 30 / 200 });
  });
  it("counts missed windows, coats covered early, and what waited", () => {
    const waited = Array.from({ length: 11 }, (_, index) => coat({ waitedMinutes: index * 60 }));
    const { all } = spanFigures([
      ...waited,
      coat({ deviations: ["window-missed", "gap"] }),
      coat({ deviations: ["covered-early"] }),
    ]);
    expect(all).toMatchObject({ windowsMissed: 1, coveredEarly: 1 });
    expect(all.waiting).toEqual({ coats: 11, medianMinutes: 300, ninthDecileMinutes: 540, totalHours: 55 });
    expect(spanFigures(waited.slice(0, 9)).all.waiting?.ninthDecileMinutes).toBeNull();
  });
  it("keeps sheets, revisions and places apart, the most coats first", () => {
    const { rows } = spanFigures([coat({}, { sheetRevision: 2 }), coat({}), coat({}), coat({}, { place: null })]);
    expect(rows.map(({ sheetRevision, place, coats }) => [sheetRevision, place, coats])).toEqual([
      [1, "booth", 2],
      [2, "booth", 1],
      [1, null, 1],
    ]);
  });
  it("says nothing of nothing", () => {
    expect(spanFigures([])).toMatchObject({ all: { coats: 0, outsideShare: null, waiting: null }, rows: [] });
  });
});

it("quantile gives what R's default does: 0.9 of 1 to 10 is 9.1", () => {
  expect(quantile([1, 2, 3, 4, 5, 6, 7, 8, 9, 10], 0.9)).toBeCloseTo(9.1, 12);
  expect(quantile([7], 0.5)).toBe(7);
});
