import { expect, it } from "vitest";
import { differencePath, reachOf } from "./difference-line.ts";

it("goes through the middle of each step and breaks where nothing is known", () => {
  expect(differencePath([0, 10, null, null, -10], 10, { width: 50, height: 20 })).toBe("M5 10L15 0M40 20H50");
  expect(differencePath([null, null], 10, { width: 50, height: 20 })).toBe("");
});

it("shows the bound and all values, above and below alike", () => {
  expect(reachOf([1, null, -2], 6)).toBe(8);
  expect(reachOf([1, null, -20], 6)).toBe(21);
  expect(reachOf([], 6)).toBe(8);
});
