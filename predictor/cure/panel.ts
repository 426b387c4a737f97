/** How a panel follows the air when no sensor tells its temperature: one time constant, both faces in the air. */

export const substrates = ["steel", "aluminium", "plastic"] as const;
export type Substrate = (typeof substrates)[number];

/** Handbook densities and heat capacities; plastic is polypropylene. Thicknesses are assumed. */
const sheetOf = {
  steel: { kgPerM3: 7850, jPerKgK: 490, metres: 0.0007 },
  aluminium: { kgPerM3: 2700, jPerKgK: 900, metres: 0.001 },
  plastic: { kgPerM3: 905, jPerKgK: 1920, metres: 0.003 },
} as const satisfies Record<Substrate, { kgPerM3: number; jPerKgK: number; metres: number }>;

/** Seconds in which the panel makes up 63 % of its lag, in air moving at 0 m/s or more (NaN below); h after McAdams. */
export function panelLagSeconds(substrate: Substrate, airSpeedMps: number): number {
  if (!(airSpeedMps >= 0)) return Number.NaN;
  const { kgPerM3, jPerKgK, metres } = sheetOf[substrate];
  const wPerM2K = 5.7 + 3.8 * airSpeedMps;
  return (kgPerM3 * jPerKgK * metres) / (2 * wPerM2K);
}
