/** Humidity ahead: the water in the air stays, the temperature changes. */
import { rhAtSurfacePercent } from "../air/humidity.ts";

/**
 * Relative humidity in percent when air of this vapour content is at another temperature: vapour pressure kept, at most
 * 100 (the rest condenses). NaN where the humidity is outside 0…100 or a temperature at or below −243.12 °C.
 */
export function humidityAt(present: { airC: number; rhPercent: number }, airC: number): number {
  return Math.min(100, rhAtSurfacePercent(present.airC, present.rhPercent, airC));
}
