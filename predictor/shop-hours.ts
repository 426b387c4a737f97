/** Hours that come back each week, by the wall clock of the shop: when a place is heated, when people work. */
import { z } from "zod";

/** ISO order: Monday is weekday 1. */
const dayNames = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] as const;

export const timeOfDaySchema = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, {
  error: 'expected a time of day such as "18:00"',
  abort: true,
});
const endOfHoursSchema = z.string().regex(/^(([01]\d|2[0-3]):[0-5]\d|24:00)$/, {
  error: 'expected a time of day such as "18:00", or "24:00" for midnight',
  abort: true,
});

export const hoursSchema = z
  .strictObject({
    days: z.array(z.enum(dayNames)).min(1, "expected at least one day").default(["mon", "tue", "wed", "thu", "fri"]),
    from: timeOfDaySchema,
    to: endOfHoursSchema,
  })
  // Both are written HH:MM, so they sort as text.
  .refine((hours) => hours.from < hours.to, {
    error: "expected a time later than from, on the same day",
    path: ["to"],
  });

/** The same hours on each of some days of the week, in local time. */
export interface WeeklyHours {
  /** ISO weekdays, 1 (Monday) to 7, rising. */
  days: number[];
  /** Minutes of the wall clock since midnight, 0…1439. */
  fromMinute: number;
  /** Later than `fromMinute`; 1440 at most, which is midnight. */
  toMinute: number;
}

/** Hours of the shop file in figures. */
export function weeklyHours(hours: z.infer<typeof hoursSchema>): WeeklyHours {
  return {
    days: dayNames.flatMap((day, index) => (hours.days.includes(day) ? [index + 1] : [])),
    fromMinute: minuteOf(hours.from),
    toMinute: minuteOf(hours.to),
  };
}

/** Of a time of day written HH:MM. */
function minuteOf(timeOfDay: string): number {
  return Number(timeOfDay.slice(0, 2)) * 60 + Number(timeOfDay.slice(3));
}
