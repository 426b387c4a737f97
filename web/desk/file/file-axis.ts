/** The axes that a finished coat's rail and chart stand on: the shop's clock, or the time since the finish for two coats at once. */

import type { Words } from "../../../words/words.ts";
import { msOf, type ShopClock } from "../../parts/shop-clock.ts";
import { scaleOf, type TimeScale } from "../../parts/time-scale.ts";
import type { ShownFile } from "../coat-ref.ts";

const minuteMs = 60_000;
/** What comes later than this after the figures' end does not squeeze what they tell of (our choice). */
const laterMs = 360 * minuteMs;
const leastMs = 30 * minuteMs;

/** How long after the finish there is something to see, ms: until the time that counts is over, what was checked and what is expected soon after it. */
export function spanMs({ coat, figures, warnings }: ShownFile, nowMs: number): number {
  const finishedMs = msOf(coat.finishedAt) ?? nowMs;
  const untilMs = msOf(figures.until) ?? nowMs;
  const marks = [
    ...figures.stages.flatMap(({ safeAt, readyCheckedAt, notYetCheckedAt }) => [
      safeAt,
      readyCheckedAt,
      notYetCheckedAt,
    ]),
    ...coat.checks.map(({ at }) => at),
    ...warnings.map(({ from }) => from),
  ].flatMap((iso) => msOf(iso) ?? []);
  const lastMs = Math.max(untilMs, ...marks.filter((ms) => ms <= untilMs + laterMs));
  return Math.max(lastMs - finishedMs, leastMs);
}

/** By the clock, from the finish on. `mostTicks` at least 2. */
export function clockAxis(file: ShownFile, clock: ShopClock, nowMs: number, mostTicks: number): TimeScale {
  const finishedMs = msOf(file.coat.finishedAt) ?? nowMs;
  const span = spanMs(file, nowMs);
  return scaleOf(finishedMs - span / 48, finishedMs + span * (13 / 12), clock.offsetMs(finishedMs), mostTicks);
}

/** The coat's own stretch of an axis that counts from its finish and is `span` long: the same for each coat of that span. */
export function sinceFinishAxis(finishedMs: number, span: number, mostTicks: number): TimeScale {
  return scaleOf(finishedMs - span / 48, finishedMs + span * (13 / 12), -finishedMs, mostTicks);
}

/** "45 min", "1 h 30 min"; a minus before the finish. Whole minutes. */
export function spanWords(ms: number, words: Words): string {
  const all = Math.round(ms / minuteMs);
  const [hours, minutes] = [Math.floor(Math.abs(all) / 60), Math.abs(all) % 60];
  const sign = all < 0 ? "−" : "";
  if (hours === 0) return `${sign}${words.t("age.minutes", { count: minutes })}`;
  if (minutes === 0) return `${sign}${words.t("age.hours", { count: hours })}`;
  return `${sign}${words.t("age.hours", { count: hours })} ${words.t("age.minutes", { count: minutes })}`;
}

/** A clock that counts from a finish, for rails and charts that are to be held against one another. */
export function sinceFinish(clock: ShopClock, finishedMs: number): ShopClock {
  const since = (atMs: number) => spanWords(atMs - finishedMs, clock.words);
  return { ...clock, time: since, when: since, whenAfter: (_firstMs, atMs) => since(atMs) };
}
