/**
 * Water in the air. Everything is over liquid water, below 0 °C too: what is meant by a dew point here is never a
 * frost point. Source: Magnus form of WMO-No. 8, within 0.31 % of IAPWS-IF97 from 0 to 60 °C.
 */

export const magnus = { hPaAt0C: 6.112, slope: 17.62, offsetC: 243.12 } as const;

/** ln of the saturation vapour pressure relative to that at 0 °C, dimensionless; NaN at or below −243.12 °C. */
export function lnSaturation(tempC: number): number {
  return tempC > -magnus.offsetC ? (magnus.slope * tempC) / (magnus.offsetC + tempC) : Number.NaN;
}

/**
 * ln of the saturation vapour pressure at one temperature over that at another, in one division: for the inner loop of
 * the cure model, so with the constants of `magnus` written out. Both above −243.12 °C.
 */
export function lnSaturationRatio(tempC: number, otherC: number): number {
  return (17.62 * 243.12 * (tempC - otherC)) / ((243.12 + tempC) * (243.12 + otherC));
}

/** Saturation vapour pressure over water in hPa; meant for −45…60 °C, smooth beyond, NaN at or below −243.12 °C. */
export function saturationVapourPressureHpa(tempC: number): number {
  return magnus.hPaAt0C * Math.exp(lnSaturation(tempC));
}

/** Vapour pressure of the air's water in hPa; relative humidity in percent, 0…100, NaN outside. */
export function vapourPressureHpa(airC: number, rhPercent: number): number {
  return rhPercent >= 0 && rhPercent <= 100 ? (rhPercent / 100) * saturationVapourPressureHpa(airC) : Number.NaN;
}

/** Dew point over water in °C; relative humidity in percent, above 0 up to 100, NaN outside: dry air has no dew point. */
export function dewPointC(airC: number, rhPercent: number): number {
  if (!(rhPercent > 0 && rhPercent <= 100)) return Number.NaN;
  const ln = Math.log(rhPercent / 100) + lnSaturation(airC);
  return (magnus.offsetC * ln) / (magnus.slope - ln);
}

/**
 * Relative humidity in percent that this air has at a surface of another temperature; above 100 the surface is wet.
 * NaN where the inputs are outside the range of the functions above.
 */
export function rhAtSurfacePercent(airC: number, rhPercent: number, surfaceC: number): number {
  return (100 * vapourPressureHpa(airC, rhPercent)) / saturationVapourPressureHpa(surfaceC);
}
