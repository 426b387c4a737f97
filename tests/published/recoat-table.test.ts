/** UFGS 09971, 3.7.1.4, RECOAT WINDOWS, polyurethane over polyurethane (ufgscriteriadocreport.tpub.com/09971/099710028.htm). */
import { expect, it } from "vitest";
import { CoatClimb } from "../../predictor/cure/coat-climb.ts";
import { ladderOf } from "../../predictor/cure/example-coat.ts";

/** Surface temperature in °C from, to; least hours to the next coat. */
const table = [
  [16, 21, 8],
  [22, 27, 6],
  [28, 32, 4],
  [33, 38, 3],
  [39, 43, 2],
  [44, 49, 1],
] as const;
const given = { midC: 24.5, hours: 6 };

it.each(table)(
  "from %d to %d °C the row of 22–27 °C and the default energy give %d h within 15 % or half an hour",
  (fromC, toC, hours) => {
    const ladder = ladderOf([{ stage: "overcoat", minutesAtC: { [given.midC]: given.hours * 60 } }]);
    const climb = new CoatClimb({ ladder, finishedAtMs: 0, substrate: "steel" });
    const midC = (fromC + toC) / 2;
    climb.append({ atMs: 0, airC: midC, rhPercent: 50, panelC: midC });
    const off = Math.abs((climb.outcome(0).stages[0]?.likelyMinutes ?? Number.NaN) / 60 - hours);
    expect(Math.min(off / 0.5, off / (0.15 * hours))).toBeLessThanOrEqual(1);
  },
);
