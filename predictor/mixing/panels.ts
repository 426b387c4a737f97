/** The usual panels of a car, as the outline shows them, and how large they are as a rule. */
import type { Substrate } from "../cure/panel.ts";

export interface KnownPanel {
  /** As it stands in the records; the pages translate it. */
  name: string;
  substrate: Substrate;
  /** One side, as sprayed (assumed: a medium car, round figures). */
  areaM2: number;
}

export const knownPanels: readonly KnownPanel[] = [
  { name: "front bumper", substrate: "plastic", areaM2: 0.8 },
  { name: "bonnet", substrate: "steel", areaM2: 1.4 },
  { name: "front wing left", substrate: "steel", areaM2: 0.6 },
  { name: "front wing right", substrate: "steel", areaM2: 0.6 },
  { name: "mirror left", substrate: "plastic", areaM2: 0.1 },
  { name: "mirror right", substrate: "plastic", areaM2: 0.1 },
  { name: "front door left", substrate: "steel", areaM2: 0.9 },
  { name: "front door right", substrate: "steel", areaM2: 0.9 },
  { name: "rear door left", substrate: "steel", areaM2: 0.8 },
  { name: "rear door right", substrate: "steel", areaM2: 0.8 },
  { name: "sill left", substrate: "steel", areaM2: 0.3 },
  { name: "sill right", substrate: "steel", areaM2: 0.3 },
  { name: "roof", substrate: "steel", areaM2: 2 },
  { name: "roof pillar left", substrate: "steel", areaM2: 0.2 },
  { name: "roof pillar right", substrate: "steel", areaM2: 0.2 },
  { name: "rear wing left", substrate: "steel", areaM2: 0.8 },
  { name: "rear wing right", substrate: "steel", areaM2: 0.8 },
  { name: "fuel flap", substrate: "steel", areaM2: 0.05 },
  { name: "boot lid", substrate: "steel", areaM2: 0.8 },
  { name: "tailgate", substrate: "steel", areaM2: 1 },
  { name: "rear bumper", substrate: "plastic", areaM2: 0.8 },
  { name: "sliding door", substrate: "steel", areaM2: 1.6 },
];
