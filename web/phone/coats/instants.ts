/** Times of day as they are typed, to instants. */
import type { ShopClock } from "../../parts/shop-clock.ts";

export const minutesAgo = [5, 10, 15, 30, 60] as const;

const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;

/** The last time that the shop's clock showed "HH:mm", UTC ms; null for what is no time of day. */
export function instantOf(time: string, nowMs: number, clock: Pick<ShopClock, "offsetMs">): number | null {
  const [, hours, minutes] = /^(\d{2}):(\d{2})/.exec(time) ?? [];
  if (hours === undefined || minutes === undefined) return null;
  return lastAt(Number(hours) * 60 + Number(minutes), nowMs, clock);
}

/** The next time that the shop's clock shows it, today or tomorrow. */
export function nextInstantOf(time: string, nowMs: number, clock: Pick<ShopClock, "offsetMs">): number | null {
  const lastMs = instantOf(time, nowMs, clock);
  return lastMs === null ? null : lastAt(minuteOf(time), nowMs + dayMs, clock);
}

const minuteOf = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));

function lastAt(minuteOfDay: number, nowMs: number, clock: Pick<ShopClock, "offsetMs">): number {
  const offsetMs = clock.offsetMs(nowMs);
  const midnightMs = Math.floor((nowMs + offsetMs) / dayMs) * dayMs;
  const local = midnightMs + minuteOfDay * minuteMs;
  const atMs = local - offsetMs;
  const past = atMs <= nowMs ? local : local - dayMs;
  // On a night when the clocks change, by what held then.
  return past - clock.offsetMs(past - offsetMs);
}
