/** The grid everything here stands on: half hours of UTC, each held at its middle, and where they fall in local time. */

export const halfHourMs = 1_800_000;
export const dayMs = 86_400_000;
export const halfHoursADay = 48;

/** Mean air temperature of one half hour; startMs is UTC ms on a half-hour boundary. Missing half hours are simply absent. */
export interface HalfHour {
  startMs: number;
  airC: number;
}

/** When a place is heated, by local time: ISO weekdays 1 (Monday) … 7 (Sunday), and minutes of the local day. */
export interface HeatingHours {
  days: readonly number[];
  fromMinute: number;
  toMinute: number;
}

export interface LocalHalfHour {
  /** Days since 1970-01-01 by local time. */
  day: number;
  /** ISO weekday, 1 (Monday) … 7 (Sunday). */
  weekday: number;
  /** Half hour of the local day, 0…47. */
  slot: number;
  minute: number;
}

/** Where an instant falls in local time; offsetMs is local time minus UTC. */
export function localHalfHour(atMs: number, offsetMs: (atMs: number) => number): LocalHalfHour {
  const localMs = atMs + offsetMs(atMs);
  const day = Math.floor(localMs / dayMs);
  const minute = Math.floor((localMs - day * dayMs) / 60_000);
  return { day, weekday: ((((day + 3) % 7) + 7) % 7) + 1, slot: Math.floor(minute / 30), minute };
}

/** True while a place is heated by its plan. */
export function isHeated(at: LocalHalfHour, heating: HeatingHours): boolean {
  return heating.days.includes(at.weekday) && at.minute >= heating.fromMinute && at.minute < heating.toMinute;
}

/** Half hours one after the other without a hole; NaN where nothing is known. */
export interface HalfHourGrid {
  /** UTC ms of the start of the first half hour. */
  startMs: number;
  airC: Float64Array;
}

/**
 * Lays the half hours that lie in the last `days` days on a grid that ends with the newest. Values that are not finite
 * count as missing; of two for the same half hour the later in the list wins. Empty when nothing is known.
 */
export function gridOf(past: readonly HalfHour[], days: number): HalfHourGrid {
  let last = Number.NEGATIVE_INFINITY;
  for (const { startMs, airC } of past) if (startMs > last && Number.isFinite(airC)) last = startMs;
  if (!Number.isFinite(last)) return { startMs: 0, airC: new Float64Array(0) };
  const lastIndex = Math.floor(last / halfHourMs);
  const firstAllowed = lastIndex - days * halfHoursADay + 1;
  let firstIndex = lastIndex;
  for (const { startMs, airC } of past) {
    const index = Math.floor(startMs / halfHourMs);
    if (index >= firstAllowed && index < firstIndex && Number.isFinite(airC)) firstIndex = index;
  }
  const airC = new Float64Array(lastIndex - firstIndex + 1).fill(Number.NaN);
  for (const half of past) {
    const index = Math.floor(half.startMs / halfHourMs) - firstIndex;
    if (index >= 0 && Number.isFinite(half.airC)) airC[index] = half.airC;
  }
  return { startMs: firstIndex * halfHourMs, airC };
}

/** The value at an instant, linear between the middles of two neighbouring half hours; NaN where either is unknown. */
export function valueAt(values: Float64Array, startMs: number, atMs: number): number {
  const position = (atMs - startMs) / halfHourMs - 0.5;
  const index = Math.floor(position);
  const share = position - index;
  const from = values[index] ?? Number.NaN;
  return share === 0 ? from : from + share * ((values[index + 1] ?? Number.NaN) - from);
}
