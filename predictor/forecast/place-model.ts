/** What is learned from a place's own past: its usual day, how it returns to it, and how wrong that was. */
import { knownCount, withoutSpikes, withoutStuck } from "./clean.ts";
import { type Cooling, learnCooling } from "./cooling.ts";
import {
  dayMs,
  gridOf,
  type HalfHour,
  type HeatingHours,
  halfHourMs,
  halfHoursADay,
  localHalfHour,
  valueAt,
} from "./half-hours.ts";
import { type LeadTable, learnLeads } from "./leads.ts";
import { learnProfile, type Profile } from "./profile.ts";

export type { HalfHour, HeatingHours } from "./half-hours.ts";

/** Days of the past that a place is learned from. */
const daysLearned = 28;
/** With less than two days of known half hours nothing is learned. */
const leastHalfHours = 2 * halfHoursADay;

export interface PlaceModelOptions {
  /** Local time minus UTC in ms at an instant (daylight saving included). */
  offsetMs: (atMs: number) => number;
  heating?: HeatingHours;
  /** Outdoor temperatures of the same time, if there are any: what the place cools towards is learned from them. */
  outdoor?: readonly HalfHour[];
}

/** The habits of a place; null in a model means that there was too little of the past to learn them. */
export interface Habits {
  profile: Profile;
  /** Local day number of the first entry of `profile.leavingOut`. */
  firstDay: number;
  /** UTC ms of the start of the first entry of `anomalies`. */
  startMs: number;
  /** The past less what was usual, K, by half hour; NaN where unknown. */
  anomalies: Float64Array;
  leads: LeadTable;
  cooling: Cooling;
}

export interface PlaceModel {
  /** Known half hours that went in. */
  halfHours: number;
  offsetMs: (atMs: number) => number;
  habits: Habits | null;
}

/** Learns a place from the mean temperatures of its half hours in °C, in any order; the last 28 days count. A few ms. */
export function learnPlace(past: readonly HalfHour[], options: PlaceModelOptions): PlaceModel {
  const { offsetMs, heating } = options;
  const grid = gridOf(past, daysLearned);
  const halfHours = knownCount(grid.airC);
  if (halfHours < leastHalfHours) return { halfHours, offsetMs, habits: null };

  const length = grid.airC.length;
  const locals = Array.from({ length }, (_, i) => localHalfHour(grid.startMs + (i + 0.5) * halfHourMs, offsetMs));
  const firstDay = locals[0]?.day ?? 0;
  const lastDay = locals[length - 1]?.day ?? 0;
  const groupOf = (weekday: number) => (heating?.days.includes(weekday) ? 1 : 0);
  const slot = Uint8Array.from(locals, (local) => local.slot);
  const groups = Uint8Array.from(locals, (local) => groupOf(local.weekday));
  const airC = withoutSpikes(withoutStuck(grid.airC, leastHalfHours), slot, groups);
  const day = Uint16Array.from(locals, (local) => local.day - firstDay);
  const weekdays = Array.from({ length: lastDay - firstDay + 1 }, (_, d) => ((((firstDay + d + 3) % 7) + 7) % 7) + 1);
  const profile = learnProfile({ airC, day, slot, weekdays, groupOf });
  const anomalies = airC.map(
    (value, i) => value - ((profile.leavingOut[day[i] as number] as Float64Array)[slot[i] as number] as number),
  );
  const habits = {
    profile,
    firstDay,
    startMs: grid.startMs,
    anomalies,
    leads: learnLeads(anomalies, day),
    cooling: learnCooling(airC, grid.startMs, locals, profile, heating, options.outdoor),
  };
  return { halfHours, offsetMs, habits };
}

/** What is usual at an instant in °C, linear between the middles of half hours. */
export function usualAt(habits: Habits, offsetMs: (atMs: number) => number, atMs: number): number {
  const position = atMs / halfHourMs - 0.5;
  const index = Math.floor(position);
  const share = position - index;
  const from = usualOfHalfHour(habits, offsetMs, index);
  return share === 0 ? from : from + share * (usualOfHalfHour(habits, offsetMs, index + 1) - from);
}

/** The anomaly at an instant of the past in K; NaN where unknown. */
export function anomalyAt(habits: Habits, atMs: number): number {
  return valueAt(habits.anomalies, habits.startMs, atMs);
}

/** The mean anomaly of the day before an instant in K; NaN where nothing of it is known. */
export function meanAnomalyBefore(habits: Habits, atMs: number): number {
  const { anomalies, startMs } = habits;
  const end = Math.floor((atMs - startMs) / halfHourMs);
  const from = Math.max(0, Math.ceil((atMs - dayMs - startMs) / halfHourMs));
  let sum = 0;
  let count = 0;
  for (let i = from; i < end && i < anomalies.length; i++) {
    const anomaly = anomalies[i] as number;
    if (Number.isNaN(anomaly)) continue;
    sum += anomaly;
    count++;
  }
  return sum / count;
}

function usualOfHalfHour(habits: Habits, offsetMs: (atMs: number) => number, index: number): number {
  const { day, weekday, slot } = localHalfHour((index + 0.5) * halfHourMs, offsetMs);
  const table = habits.profile.leavingOut[day - habits.firstDay] ?? habits.profile.byWeekday[weekday];
  return table?.[slot] ?? Number.NaN;
}
