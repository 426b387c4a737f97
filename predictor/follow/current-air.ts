/** The air of a place as it is now, and its dew point: what spraying and warnings are judged by. */
import type { Quantity } from "../../collector/readings.ts";
import { dewPointC } from "../air/humidity.ts";
import type { SprayAir } from "../cure/limits.ts";
import type { Follow } from "./follow.ts";
import { isCurrent } from "./place-now.ts";

/** Values that are current; null for those that are not, or not measured. */
export function currentAir(follow: Pick<Follow, "current">, place: string, nowMs: number): SprayAir {
  const value = (quantity: Quantity): number | null => {
    const current = follow.current(place, quantity);
    return current !== undefined && isCurrent(current, nowMs) ? current.value : null;
  };
  const airC = value("air-temperature");
  const rhPercent = value("air-humidity");
  return { airC, rhPercent, panelC: value("panel-temperature"), dewPointC: dewPointOrNull(airC, rhPercent) };
}

/** Dew point of air in °C; null where a value is missing, and for air without any water, which has none. */
export function dewPointOrNull(airC: number | null, rhPercent: number | null): number | null {
  if (airC === null || rhPercent === null) return null;
  const dewC = dewPointC(airC, rhPercent);
  return Number.isFinite(dewC) ? dewC : null;
}
