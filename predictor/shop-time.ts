/** The shop's clock on the wall: how far it is from UTC, and when work ends today. */
import { DateTime, IANAZone } from "luxon";
import type { ShopFile } from "./shop-file.ts";
import { weeklyHours } from "./shop-hours.ts";

/** A day of the shop's calendar: from its first instant to the first of the next. */
export interface ShopDay {
  /** As in 2026-03-28. */
  date: string;
  fromMs: number;
  toMs: number;
}

export interface ShopTime {
  /** Local time minus UTC in ms at an instant, daylight saving included. */
  offsetMs: (atMs: number) => number;
  /** When work ends on the day of an instant; null after it, on a day without work, and where the shop file gives no hours. */
  workEndsAtMs: (atMs: number) => number | null;
  /** The local date of an instant, as in 2026-03-28. */
  isoDate: (atMs: number) => string;
  /** So many days up to that of an instant, oldest first. */
  daysUntil: (atMs: number, count: number) => ShopDay[];
}

export function shopTimeOf({ timeZone, workday }: Pick<ShopFile, "timeZone" | "workday">): ShopTime {
  const zone = IANAZone.create(timeZone);
  const hours = workday && weeklyHours(workday);
  return {
    offsetMs: (atMs) => zone.offset(atMs) * 60_000,
    isoDate: (atMs) => DateTime.fromMillis(atMs, { zone }).toFormat("yyyy-MM-dd"),
    daysUntil: (atMs, count) => {
      const lastDay = DateTime.fromMillis(atMs, { zone }).startOf("day");
      return Array.from({ length: count }, (_, index) => {
        const day = lastDay.minus({ days: count - 1 - index }).startOf("day");
        const next = day.plus({ days: 1 }).startOf("day");
        return { date: day.toFormat("yyyy-MM-dd"), fromMs: day.toMillis(), toMs: next.toMillis() };
      });
    },
    workEndsAtMs: (atMs) => {
      const local = DateTime.fromMillis(atMs, { zone });
      if (hours === undefined || !hours.days.includes(local.weekday)) return null;
      const midnight = local.startOf("day");
      const endsAt = midnight.set({ hour: Math.floor(hours.toMinute / 60), minute: hours.toMinute % 60 });
      const endsAtMs = hours.toMinute === 1440 ? midnight.plus({ days: 1 }).toMillis() : endsAt.toMillis();
      return atMs < endsAtMs ? endsAtMs : null;
    },
  };
}
