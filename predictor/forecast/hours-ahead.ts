/** The temperature of a place over the hours ahead, and what becomes of it when the heating goes off early. */
import { halfHourMs, halfHoursADay } from "./half-hours.ts";
import { anomalyAhead, daysBack } from "./leads.ts";
import { anomalyAt, meanAnomalyBefore, type PlaceModel, usualAt } from "./place-model.ts";

/** Spread of a place nothing is learned about, K per square root of an hour, one standard deviation (assumed). */
export const unlearnedSpreadK = 1;
/** P90 of a normal distribution in standard deviations. */
const p90 = 1.2815515655446004;
const hourMs = 3_600_000;
/** The cooling time constant of a place nothing is learned about, hours (assumed). */
const assumedCoolingHours = 5;

export interface HourAhead {
  atMs: number;
  airC: number;
  /** P10 */
  coldC: number;
  /** P90 */
  warmC: number;
}

/**
 * From the value now, in half-hour steps on half-hour boundaries after now up to `hours` (0…48, more is cut off).
 * Rising in time. Where less than two days are known the value now persists. Empty when the value now is not finite.
 */
export function hoursAhead(model: PlaceModel, present: { atMs: number; airC: number }, hours = 48): HourAhead[] {
  if (!Number.isFinite(present.airC) || !Number.isFinite(present.atMs)) return [];
  const untilMs = present.atMs + Math.min(48, hours) * hourMs;
  const tell = model.habits === null ? persisting(present) : returning(model, present);
  const ahead: HourAhead[] = [];
  for (let atMs = (Math.floor(present.atMs / halfHourMs) + 1) * halfHourMs; atMs <= untilMs; atMs += halfHourMs) {
    ahead.push(tell(atMs));
  }
  return ahead;
}

function persisting(present: { atMs: number; airC: number }): (atMs: number) => HourAhead {
  return (atMs) => {
    const reachK = p90 * unlearnedSpreadK * Math.sqrt((atMs - present.atMs) / hourMs);
    return { atMs, airC: present.airC, coldC: present.airC - reachK, warmC: present.airC + reachK };
  };
}

function returning(model: PlaceModel, present: { atMs: number; airC: number }): (atMs: number) => HourAhead {
  const { habits, offsetMs } = model;
  if (habits === null) return persisting(present);
  const anomalyK = present.airC - usualAt(habits, offsetMs, present.atMs);
  const slopeK = anomalyK - anomalyAt(habits, present.atMs - hourMs);
  const dayK = meanAnomalyBefore(habits, present.atMs);
  const now = { anomalyK, slopeK: known(slopeK, 0), dayK: known(dayK, anomalyK) };
  return (atMs) => {
    const lead = (atMs - present.atMs) / halfHourMs;
    const before = (thenMs: number) => sameTimeOfDayBefore(thenMs, daysBack(lead), offsetMs);
    const yesterdayK = anomalyAt(habits, before(atMs)) - anomalyAt(habits, before(present.atMs));
    const { mean, below, above } = anomalyAhead(habits.leads, lead, { ...now, yesterdayK: known(yesterdayK, 0) });
    const airC = usualAt(habits, offsetMs, atMs) + mean;
    return { atMs, airC, coldC: airC + below, warmC: airC + above };
  };
}

/** So many days earlier at the same local time, over a change of the clocks too. */
function sameTimeOfDayBefore(atMs: number, days: number, offsetMs: (atMs: number) => number): number {
  const beforeMs = atMs - days * halfHoursADay * halfHourMs;
  return beforeMs + offsetMs(atMs) - offsetMs(beforeMs);
}

/**
 * The hours ahead when heating goes off at an instant earlier than usual: from there the place relaxes with its own time
 * constant (5 h assumed where it was not learned) towards the outdoor forecast and what the place is usually warmer than
 * that, or towards the coldest of what is usual. Never warmer than `ahead`; the width of the band is carried along.
 * `ahead` and `outdoor` rising in time; outside `outdoor` its nearest value holds.
 */
export function coolingFrom(
  model: PlaceModel,
  ahead: readonly HourAhead[],
  offAtMs: number,
  outdoor: readonly HourAhead[] = [],
): HourAhead[] {
  const cooling = model.habits?.cooling;
  const timeConstantMs = (cooling?.timeConstantHours ?? assumedCoolingHours) * hourMs;
  const first = ahead[0];
  if (first === undefined) return [];
  const restAt = (atMs: number) =>
    outdoor.length > 0 ? airAt(outdoor, atMs) + (cooling?.aboveOutdoorK ?? 0) : (cooling?.coldestC ?? first.airC);
  let beforeMs = Math.max(offAtMs, first.atMs);
  let cooledC = airAt(ahead, beforeMs);
  return ahead.map((usual) => {
    if (usual.atMs <= beforeMs) return usual;
    const restC = restAt((beforeMs + usual.atMs) / 2);
    cooledC = restC + (cooledC - restC) * Math.exp(-(usual.atMs - beforeMs) / timeConstantMs);
    cooledC = Math.min(cooledC, usual.airC);
    beforeMs = usual.atMs;
    const changeK = cooledC - usual.airC;
    return { atMs: usual.atMs, airC: cooledC, coldC: usual.coldC + changeK, warmC: usual.warmC + changeK };
  });
}

/** Linear in between, the nearest value outside; of at least one. */
function airAt(line: readonly HourAhead[], atMs: number): number {
  const next = line.findIndex((point) => point.atMs >= atMs);
  const after = line[next === -1 ? line.length - 1 : next];
  const before = line[next - 1] ?? after;
  if (after === undefined || before === undefined) return Number.NaN;
  if (next === -1 || after.atMs === before.atMs) return after.airC;
  return before.airC + ((atMs - before.atMs) / (after.atMs - before.atMs)) * (after.airC - before.airC);
}

function known(value: number, otherwise: number): number {
  return Number.isNaN(value) ? otherwise : value;
}
