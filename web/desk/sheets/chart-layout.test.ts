import { expect, it } from "vitest";
import type { LadderView } from "../../../predictor/serve/sheet-api.ts";
import { minutesAxis, pathThrough, spreadLabels } from "./chart-layout.ts";

it("labels keep their distance, in order, and stay inside", () => {
  expect(spreadLabels([10, 50, 90], 15, 0, 100)).toEqual([10, 50, 90]);
  expect(spreadLabels([52, 50, 51], 15, 0, 100)).toEqual([80, 50, 65]);
  expect(spreadLabels([98, 99, 100], 15, 0, 100)).toEqual([70, 85, 100]);
  expect(spreadLabels([], 15, 0, 100)).toEqual([]);
});

it("a path breaks where a stage is never reached", () => {
  expect(pathThrough([[0, 1], [2, 3], null, [4, 5], null])).toBe("M0.0 1.0L2.0 3.0M4.0 5.0");
});

it("the axis holds every time, with few round ticks", () => {
  const axisOf = (minutes: (number | null)[], anchors: LadderView["stages"][number]["anchors"]) =>
    minutesAxis(
      {
        stages: [
          {
            stage: "sand",
            by: null,
            curePercent: 50,
            isPrinted: true,
            isPercentPrinted: true,
            energies: [],
            minutes,
            anchors,
          },
        ],
      },
      5,
    );
  const axis = axisOf([null, 3, 900], [{ tempC: 20, minutes: 15_000 }]);
  expect(axis.from).toBeLessThan(3);
  expect(axis.to).toBeGreaterThan(15_000);
  expect(axis.ticks.length).toBeLessThanOrEqual(5);
  expect(axis.ticks.every((tick) => tick >= axis.from && tick <= axis.to)).toBe(true);
  expect(axisOf([null], []).ticks.length).toBeGreaterThan(0);
});
