/** The lamp imports nothing of the predictor; that both know the same names is held here. */
import { expect, it } from "vitest";
import { readyStages, warningRules } from "../lamp/settings.ts";
import { stageNames } from "../predictor/cure/sheet.ts";
import { rules } from "../predictor/warnings/condition.ts";

it("the shop file can name for a lamp each stage and each rule that the predictor tells, and no other", () => {
  expect([...readyStages].sort()).toEqual([...stageNames].sort());
  expect([...warningRules].sort()).toEqual([...rules].sort());
});
