import { expect, it } from "vitest";
import { inventedSheets } from "../records/library.ts";
import type { Equipment } from "./equipment.ts";
import { gather } from "./gather.ts";
import type { Situation } from "./rules.ts";

const nowMs = Date.parse("2026-03-02T08:00:00Z");
const well: Equipment = {
  silent: [],
  bad: [],
  differing: [],
  calibrations: [],
  machines: [],
  storeFault: null,
  storeAway: false,
  recordsFault: null,
};
const calm: Situation = {
  nowMs,
  airC: 21,
  rhPercent: 50,
  panelC: 21,
  dewPointC: 10,
  hours: [],
  equipment: well,
  sheets: inventedSheets().filter(({ id }) => id === "demo-clear"),
  coats: [],
  pots: [],
};
const pot = {
  id: "m1",
  place: "mixing",
  kind: "clearcoat",
  mixedAtMs: nowMs,
  closingFromMs: nowMs,
  useByAtMs: nowMs + 1,
};
const standing = (change: Partial<Situation>, active: string[] = []) =>
  gather(new Map(["booth", "prep", "mixing"].map((place) => [place, { ...calm, ...change }])), (key) =>
    active.includes(key),
  ).map(({ key, place, alsoAt }) => ({ key, place, alsoAt }));

it("a pot stands where it was mixed and shows where else it is sprayed", () => {
  expect(standing({ pots: [pot] })).toEqual([
    { key: "pot-life/m1/closing", place: "mixing", alsoAt: ["booth", "prep"] },
  ]);
  // Where that place is none of the shop any more, in the first.
  expect(standing({ pots: [{ ...pot, place: "yard" }] })).toMatchObject([
    { place: "booth", alsoAt: ["prep", "mixing"] },
  ]);
});

it("a sensor or a machine is one, in however many places it tells", () => {
  const silent = [{ quantity: "air-temperature", sensor: "pi/air", lastAtMs: null }] as const;
  expect(standing({ equipment: { ...well, silent, storeFault: "full" } })).toEqual([
    { key: "silent-sensor/pi/air/air-temperature", place: "booth", alsoAt: ["prep", "mixing"] },
    { key: "store", place: "booth", alsoAt: ["prep", "mixing"] },
  ]);
});

it("the air of each place is its own, and so is its deadband", () => {
  expect(standing({ airC: 14 })).toMatchObject([{ key: "booth/cold" }, { key: "prep/cold" }, { key: "mixing/cold" }]);
  expect(standing({ airC: 15.2 }, ["prep/cold"])).toEqual([{ key: "prep/cold", place: "prep", alsoAt: [] }]);
});
