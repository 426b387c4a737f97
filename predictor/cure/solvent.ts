/**
 * How readily solvent leaves: n-butyl acetate stands in for whatever the paint holds. Antoine constants of the NIST
 * WebBook from memory; published correlations differ from it by up to 20 % at 20 °C, and only ratios are used here.
 */
const antoine = { a: 4.26803, b: 1440.231, cK: -61.362 } as const;

/** ln of its vapour pressure over 1 bar; fitted for 60…126 °C and carried on below; NaN at or below −211 °C. */
export function lnSolventPressure(tempC: number): number {
  const kelvin = tempC + 273.15 + antoine.cK;
  return kelvin > 0 ? Math.LN10 * (antoine.a - antoine.b / kelvin) : Number.NaN;
}
