/** What it takes to heat and move air: energy, money and CO2. */
import { z } from "zod";

/** kg/m³ and kJ/(kg·K) of dry air at 20 °C, as The Engineering ToolBox uses them for air heating. */
const air = { kgPerM3: 1.202, kJPerKgK: 1.005 } as const;

const carrierSchema = z.strictObject({
  pricePerKWh: z.number().nonnegative(),
  co2KgPerKWh: z.number().nonnegative(),
  /** Who says so, and for which year: both are shown beside every figure made of it. */
  source: z.string().min(1),
  year: z.number().int().min(1990).max(2100),
});

export const airHandlingSchema = z.strictObject({
  /** Air that moves during a bake. */
  bakeM3PerHour: z.number().positive(),
  /** Share of the bake's air that comes from the booth again; the rest is made up from outdoors. */
  recirculatedPercent: z.number().min(0).max(100).default(0),
  /** Fresh air while a coat flashes off or dries without a bake, all of it from outdoors. */
  flashOffM3PerHour: z.number().nonnegative(),
  /** Electrical power of all fans together, in both. */
  fansKW: z.number().nonnegative(),
  /** Before a bake, at the bake's temperature; assumed when not given. */
  warmUpMinutes: z.number().nonnegative().max(120).default(10),
});
export type AirHandling = z.infer<typeof airHandlingSchema>;

export const energySchema = z.strictObject({
  currency: z.string().regex(/^[A-Z]{3}$/, "expected a currency such as EUR"),
  /** What the burner or boiler burns, per kWh of its gross calorific value. */
  heat: carrierSchema,
  electricity: carrierSchema,
  /** Heat that reaches the air, as a share of what is burnt. */
  burnerEfficiency: z.number().positive().max(1),
  /** By a place's name or, for all of its kind, by its kind. */
  airHandling: z.record(z.string(), airHandlingSchema),
  /** The bake that a plan is compared with; assumed when not given. */
  conventionalBake: z
    .strictObject({ bakeC: z.number().min(30).max(90).default(60), minutes: z.number().min(1).max(240).default(30) })
    .prefault({}),
});
export type EnergySettings = z.infer<typeof energySchema>;

/** A time in which air is heated from outdoors to inside. */
export interface AirPiece {
  /** All the air that moves. */
  m3PerHour: number;
  /** Share of it that comes from outdoors, 0…1. */
  freshShare: number;
  outdoorC: number;
  insideC: number;
  minutes: number;
  fansKW: number;
}

export interface Energy {
  /** Into the air. */
  heatKWh: number;
  /** Burnt for it. */
  fuelKWh: number;
  fansKWh: number;
  /** In the shop's currency. */
  cost: number;
  co2Kg: number;
}

/**
 * Sensible heat in kW that brings m³/h (0 or more) of outdoor air to the inside temperature; 0 where outdoors is warmer,
 * since nothing is cooled. ρ·c_p·q·ΔT/3600.
 */
export function makeUpHeatKW(m3PerHour: number, outdoorC: number, insideC: number): number {
  return (air.kgPerM3 * air.kJPerKgK * m3PerHour * Math.max(0, insideC - outdoorC)) / 3600;
}

/** Energy of pieces together: make-up air and fans. Walls, the car's own mass and recirculated air cost nothing here. */
export function energyOf(
  pieces: readonly AirPiece[],
  { heat, electricity, burnerEfficiency }: Pick<EnergySettings, "heat" | "electricity" | "burnerEfficiency">,
): Energy {
  let heatKWh = 0;
  let fansKWh = 0;
  for (const { m3PerHour, freshShare, outdoorC, insideC, minutes, fansKW } of pieces) {
    heatKWh += (makeUpHeatKW(m3PerHour * freshShare, outdoorC, insideC) * minutes) / 60;
    fansKWh += (fansKW * minutes) / 60;
  }
  const fuelKWh = heatKWh / burnerEfficiency;
  return {
    heatKWh,
    fuelKWh,
    fansKWh,
    cost: fuelKWh * heat.pricePerKWh + fansKWh * electricity.pricePerKWh,
    co2Kg: fuelKWh * heat.co2KgPerKWh + fansKWh * electricity.co2KgPerKWh,
  };
}

/** How a place handles its air by the shop file: by its own name, else by its kind; null where nothing is said. */
export function airHandlingOf({ airHandling }: EnergySettings, place: string, kind: string): AirHandling | null {
  for (const key of [place, kind]) {
    if (Object.hasOwn(airHandling, key)) return airHandling[key] ?? null;
  }
  return null;
}
