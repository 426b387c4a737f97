/** What may be asked about a car: plans made from where it stands and from the shop's places. Nothing of it is recorded. */
import type { z } from "zod";
import type { CarView, Place, Shop } from "../../../predictor/serve/api.ts";
import type { whatIfQuestionSchema } from "../../../predictor/serve/entries.ts";
import type { Words } from "../../../words/words.ts";
import { inUnit, type ShopClock } from "../../parts/shop-clock.ts";

export type WhatIfQuestion = z.infer<typeof whatIfQuestionSchema>;
type PlanStep = WhatIfQuestion["steps"][number];

export interface WhatIfChoice {
  id: string;
  /** What the button says. */
  text: string;
  /** The plan begun at an instant, as ISO text; no step where everything stays as it is. */
  steps(at: string): PlanStep[];
  /** How far ahead to look, as ISO text, where that is further than the plan goes. */
  until?(nowMs: number, clock: Pick<ShopClock, "offsetMs">): string;
}

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const bakeC = 60;
const bakeMinutes = 30;
const bakes = new Set<Place["kind"]>(["booth", "prep"]);

/** The choices for a car, moves first. Nobody cures in a mixing room; a car that stands where none is baked is baked in a booth. */
export function whatIfChoices(
  car: CarView,
  places: readonly Place[],
  unit: Shop["units"]["temperature"],
  words: Words,
): WhatIfChoice[] {
  const move = (place: Place, at: string): PlanStep => ({ kind: "move", at, place: place.id });
  const bake = (at: string): PlanStep => ({ kind: "bake", at, bakeC, minutes: bakeMinutes });
  const others = places.filter((place) => place.kind !== "mixing" && place.id !== car.place?.id);
  // A figure and its unit stay on one line of the button.
  const heat = `${Math.round(inUnit(bakeC, unit))}\u00a0°${unit}, ${bakeMinutes}\u00a0min`;
  const isBaking = car.place !== null && bakes.has(car.place.kind);
  const baking: WhatIfChoice[] = isBaking
    ? [{ id: "bake", text: words.t("what-if.bake", { heat }), steps: (at) => [bake(at)] }]
    : others
        .filter(({ kind }) => kind === "booth")
        .map((place) => ({
          id: `bake-${place.id}`,
          text: words.t("what-if.bake-in", { place: place.name, heat }),
          steps: (at) => [move(place, at), bake(at)],
        }));
  const isHeated = car.place !== null && car.place.kind !== "yard";
  return [
    ...others.map((place) => ({
      id: `move-${place.id}`,
      text: words.t("what-if.move", { place: place.name }),
      steps: (at: string) => [move(place, at)],
    })),
    ...baking,
    ...(isHeated
      ? [
          {
            id: "heating-off",
            text: words.t("what-if.heating-off"),
            steps: (at: string): PlanStep[] => [{ kind: "heating-off", at }],
          },
        ]
      : []),
    { id: "overnight", text: words.t("what-if.overnight"), steps: () => [], until: nextMorning },
  ];
}

/** Seven o'clock of the next morning by the shop's clock; an hour off on a night when the clocks change. */
function nextMorning(nowMs: number, clock: Pick<ShopClock, "offsetMs">): string {
  const offsetMs = clock.offsetMs(nowMs);
  const midnightMs = Math.floor((nowMs + offsetMs) / dayMs) * dayMs - offsetMs;
  const sevenMs = midnightMs + 7 * hourMs;
  return new Date(sevenMs > nowMs ? sevenMs : sevenMs + dayMs).toISOString();
}
