/** Invented places for tests, the same at each run. */
import { type HalfHour, halfHourMs } from "./half-hours.ts";

/** Evenly spread numbers from 0 to 1 out of a seed (mulberry32). */
export function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** Normal numbers of mean 0 and deviation 1. */
export function normals(seed: number): () => number {
  const even = seeded(seed);
  return () => Math.sqrt(-2 * Math.log(1 - even())) * Math.cos(2 * Math.PI * even());
}

/** Half hours from an instant on, each value told from its middle. */
export function halfHoursOf(
  fromMs: number,
  count: number,
  airC: (middleMs: number, index: number) => number,
): HalfHour[] {
  return Array.from({ length: count }, (_, i) => {
    const startMs = fromMs + i * halfHourMs;
    return { startMs, airC: airC(startMs + halfHourMs / 2, i) };
  });
}

/** A room that is heated from 7:00 to 17:00 on working days by UTC, outdoors between 0 and 8 °C, with weather and noise. */
export function heatedRoom(fromMs: number, count: number, seed: number): { room: HalfHour[]; outdoor: HalfHour[] } {
  const noise = normals(seed);
  let weather = 0;
  let airC = 15;
  const outdoor: HalfHour[] = [];
  const room = halfHoursOf(fromMs, count, (middleMs) => {
    weather += -0.01 * weather + 0.3 * noise();
    const hour = (middleMs / 3_600_000) % 24;
    const outdoorC = 4 - 4 * Math.cos((2 * Math.PI * (hour - 3)) / 24) + weather;
    outdoor.push({ startMs: middleMs - halfHourMs / 2, airC: outdoorC });
    const weekday = ((Math.floor(middleMs / 86_400_000) + 3) % 7) + 1;
    const heated = weekday <= 5 && hour >= 7 && hour < 17;
    // 5 h towards 3 K above outdoors; the heating works on 20 °C within half an hour or so.
    airC += (outdoorC + 3 - airC) * (1 - Math.exp(-0.5 / 5)) + (heated ? 0.5 * (20 - airC) : 0) + 0.1 * noise();
    return airC;
  });
  return { room, outdoor };
}
