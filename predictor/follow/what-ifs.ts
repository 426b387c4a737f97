/** Puts a person's plan for a car to the model: nothing is recorded. */
import { text } from "../../words/text.ts";
import type { ShopPlace } from "../plan/plan-energy.ts";
import type { PlanFault, PlanStep } from "../plan/plan-step.ts";
import { type WhatIf, whatIf } from "../plan/what-if.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { CoatState } from "./coat-state.ts";
import type { Follow } from "./follow.ts";

export interface WhatIfParts {
  shopFile: Pick<ShopFile, "places" | "outdoorPlace" | "energy">;
  records: Records;
  follow: Follow;
  now: () => number;
}

/** A step as a person puts it: the next coat by its sheet's id. */
export type AskedStep =
  | Exclude<PlanStep, { kind: "next-coat" }>
  | { kind: "next-coat"; atMs: number; sheet: string; onto?: string | undefined };

export interface WhatIfAnswer extends WhatIf {
  asOfMs: number;
  states: CoatState[];
}

/** The answer for some coats of one car, or what stands in its way. */
export async function askWhatIf(
  { shopFile, records, follow, now }: WhatIfParts,
  states: CoatState[],
  asked: readonly AskedStep[],
  untilMs?: number,
): Promise<WhatIfAnswer | { faults: PlanFault[] }> {
  const nowMs = now();
  const faults: PlanFault[] = [];
  const place = states[0]?.place ?? null;
  const places: Record<string, ShopPlace> = {};
  for (const id of Object.keys(shopFile.places)) {
    const outlook = follow.outlook(id);
    if (outlook !== null) places[id] = outlook;
  }
  if (place === null || places[place] === undefined) {
    faults.push({ path: "car", expected: text("plan-fault.car"), found: place ?? "–" });
    return { faults };
  }
  const steps: PlanStep[] = [];
  for (const [index, step] of asked.entries()) {
    if (step.kind !== "next-coat") {
      if (step.kind === "move" && shopFile.places[step.place] !== undefined && places[step.place] === undefined) {
        faults.push({
          path: `steps.${index}.place`,
          expected: text("plan-fault.current-place"),
          found: step.place,
        });
      }
      steps.push(step);
      continue;
    }
    const sheet = records.sheets().find(({ id }) => id === step.sheet);
    if (sheet === undefined) {
      const names = records.sheets().map(({ id }) => id);
      faults.push({ path: `steps.${index}.sheet`, expected: text("plan-fault.one-of", { names }), found: step.sheet });
      continue;
    }
    const onto = states.find(({ coat }) => coat.id === step.onto) ?? states.at(-1);
    const coat = await follow.freshSetup(sheet, onto?.coat.substrate ?? "steel");
    steps.push({ kind: "next-coat", atMs: step.atMs, coat, ...(step.onto === undefined ? {} : { onto: step.onto }) });
  }
  if (faults.length > 0) return { faults };
  const { outdoorPlace, energy } = shopFile;
  const outdoorC = outdoorPlace === undefined ? undefined : places[outdoorPlace]?.airC;
  const answer = whatIf({
    coats: states.map(({ coat, sheet, outcomeUnder }) => ({
      id: coat.id,
      climb: { outcome: outcomeUnder },
      sheet,
      finishedAtMs: coat.finishedAtMs,
    })),
    start: { place, nowMs },
    places,
    steps,
    ...(untilMs === undefined ? {} : { untilMs }),
    ...(energy === undefined || outdoorC === undefined ? {} : { energy: { settings: energy, outdoorC } }),
  });
  return "faults" in answer ? answer : { ...answer, asOfMs: nowMs, states };
}
