/** May one spray: the air and the panel against the limits that a sheet prints. */
import type { SheetLimits } from "./sheet.ts";

/** The air where one would spray, as measured; null where nothing current tells. */
export interface SprayAir {
  airC: number | null;
  rhPercent: number | null;
  panelC: number | null;
  dewPointC: number | null;
}

export interface LimitFinding {
  what: "air temperature" | "panel temperature" | "humidity" | "dew-point margin";
  side: "below" | "above";
  value: number;
  bound: number;
  /** Outside the limit, or inside but close to it. */
  state: "outside" | "close";
}

/** Steel practice of FHWA-RD-98-084 (1998): at least 3 °C (5 °F) between surface and dew point. */
export const leastDewMarginC = 3;
/** Inside a limit by less than this is close to it (assumed). */
const closeBy = { temperatureC: 1, rhPercent: 3 };

/** Everything that is outside the limits or close to them; empty when one may spray. What is not measured is not judged. */
export function checkLimits(limits: SheetLimits, air: SprayAir): LimitFinding[] {
  const margin = air.dewPointC === null ? null : (air.panelC ?? air.airC ?? Number.NaN) - air.dewPointC;
  return [
    ...check("air temperature", air.airC, limits.airC ?? {}, closeBy.temperatureC),
    ...check("panel temperature", air.panelC, limits.panelC ?? {}, closeBy.temperatureC),
    ...check("humidity", air.rhPercent, limits.rhPercent ?? {}, closeBy.rhPercent),
    ...check("dew-point margin", margin, { min: leastDewMarginC }, closeBy.temperatureC),
  ];
}

function check(
  what: LimitFinding["what"],
  value: number | null,
  { min, max }: { min?: number | undefined; max?: number | undefined },
  close: number,
): LimitFinding[] {
  if (value === null) return [];
  const found: LimitFinding[] = [];
  // In the positive form, so that a value that is no number is outside.
  if (min !== undefined && !(value >= min + close)) {
    found.push({ what, side: "below", value, bound: min, state: value >= min ? "close" : "outside" });
  }
  if (max !== undefined && !(value <= max - close)) {
    found.push({ what, side: "above", value, bound: max, state: value <= max ? "close" : "outside" });
  }
  return found;
}
