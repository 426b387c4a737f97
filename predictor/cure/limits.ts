/** May one spray: the air and the panel against the limits that a sheet prints. */
import type { SheetLimits } from "./sheet.ts";

/** The air where one would spray, as measured; null where nothing current tells. */
export interface SprayAir {
  airC: number | null;
  rhPercent: number | null;
  panelC: number | null;
  dewPointC: number | null;
}

export type LimitName = "air temperature" | "panel temperature" | "humidity" | "dew-point margin";
export type SprayState = "spray" | "spray with care" | "do not spray" | "no verdict";

/** How one limit stands. Values in °C, humidity in %. */
export interface LimitFinding {
  what: LimitName;
  /** Null where nothing current tells. */
  value: number | null;
  min: number | null;
  max: number | null;
  /** How far inside the nearer bound, below 0 outside; null without a value or a bound. */
  margin: number | null;
  /** Close: inside, but only just. */
  state: "inside" | "close" | "outside" | "not measured";
  source: "sheet" | "common practice";
}

/** Steel practice of FHWA-RD-98-084 (1998): at least 3 °C (5 °F) between surface and dew point. */
export const leastDewMarginC = 3;
/** Inside a limit by less than this is close to it (assumed). */
const closeBy = { temperatureC: 1, rhPercent: 3 };

/** Every limit of a sheet and the margin over the dew point, in the same order always. Where the panel is not measured the air stands for it at the dew point. */
export function limitFindings({ airC, panelC, rhPercent }: SheetLimits, air: SprayAir): LimitFinding[] {
  const surfaceC = air.panelC ?? air.airC;
  const marginC = air.dewPointC === null || surfaceC === null ? null : surfaceC - air.dewPointC;
  return [
    finding("air temperature", air.airC, airC ?? {}, closeBy.temperatureC, "sheet"),
    finding("panel temperature", air.panelC, panelC ?? {}, closeBy.temperatureC, "sheet"),
    finding("humidity", air.rhPercent, rhPercent ?? {}, closeBy.rhPercent, "sheet"),
    finding("dew-point margin", marginC, { min: leastDewMarginC }, closeBy.temperatureC, "common practice"),
  ];
}

/** What the limits come to. Without air temperature or humidity nobody can say; the panel may be unmeasured. */
export function sprayState(findings: readonly LimitFinding[]): SprayState {
  const states = findings.map(({ state }) => state);
  const isUnknown = (what: LimitName) => findings.some((each) => each.what === what && each.state === "not measured");
  if (isUnknown("air temperature") || isUnknown("humidity")) return "no verdict";
  if (states.includes("outside")) return "do not spray";
  return states.includes("close") ? "spray with care" : "spray";
}

/** The limit that decides: the first that is outside, else the first that is close; null where all are well inside. */
export function decisive(findings: readonly LimitFinding[]): LimitFinding | null {
  const of = (state: LimitFinding["state"]) => findings.filter((each) => each.state === state);
  const [first] = [...of("outside"), ...of("close")];
  return first ?? null;
}

function finding(
  what: LimitName,
  value: number | null,
  { min = null, max = null }: { min?: number | null | undefined; max?: number | null | undefined },
  close: number,
  source: LimitFinding["source"],
): LimitFinding {
  const found = { what, value, min, max, source };
  if (value === null) return { ...found, margin: null, state: "not measured" };
  const margins = [...(min === null ? [] : [value - min]), ...(max === null ? [] : [max - value])];
  if (margins.length === 0) return { ...found, margin: null, state: "inside" };
  const margin = Math.min(...margins);
  // In the positive form, so that a value that is no number is outside.
  const state = margin >= close ? "inside" : margin >= 0 ? "close" : "outside";
  return { ...found, margin, state };
}
