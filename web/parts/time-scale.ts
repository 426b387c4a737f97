/** The clock-time axis that rails and chart share. Instants are UTC milliseconds. */
import type { CoatView } from "../../predictor/serve/api.ts";
import { msOf } from "./shop-clock.ts";

const minute = 60_000;
/** What is further ahead than this stands at the rail's end in words instead of squeezing the axis (our choice). */
const horizonMs = 360 * minute;
const leastAheadMs = 30 * minute;
const leastPastMs = 60 * minute;
/** Without a coat the axis shows the air of the last hours, and of the next ones. */
const idlePastMs = 240 * minute;
const idleAheadMs = 120 * minute;
const stepsMs = [5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440, 2880].map((minutes) => minutes * minute);

export interface TimeScale {
  fromMs: number;
  toMs: number;
  ticksMs: number[];
}

/** Share of the axis at an instant: 0 at its start, 1 at its end, beyond them outside it. */
export function shareOf(scale: TimeScale, atMs: number): number {
  return (atMs - scale.fromMs) / (scale.toMs - scale.fromMs);
}

/**
 * One axis for several coats: from the earliest finish to the latest of their next events within six hours, with now
 * well off both its edges, so that neither an old finish nor a far stage squeezes what comes next.
 * `offsetMs` is the shop's offset from UTC, so that ticks fall on its full hours; `mostTicks` at least 2.
 */
export function sharedScale(coats: readonly CoatView[], nowMs: number, offsetMs: number, mostTicks: number): TimeScale {
  let aheadMs = leastAheadMs;
  let pastMs = 0;
  for (const coat of coats) {
    pastMs = Math.max(pastMs, nowMs - (msOf(coat.finishedAt) ?? nowMs));
    const events = [
      coat.prediction?.next?.safeAt ?? coat.prediction?.next?.likelyAt ?? null,
      ...(coat.prediction?.windows ?? []).filter((window) => window.state !== "missed").map((w) => w.closesAt),
    ];
    for (const event of events) {
      const away = (msOf(event) ?? nowMs) - nowMs;
      if (away <= horizonMs) aheadMs = Math.max(aheadMs, away * 1.1);
    }
  }
  if (coats.length === 0) {
    pastMs = idlePastMs;
    aheadMs = idleAheadMs;
  } else {
    pastMs = Math.min(Math.max(pastMs, aheadMs / 4), Math.max(leastPastMs, aheadMs * 2));
    aheadMs = Math.max(aheadMs, pastMs / 3);
  }

  return scaleOf(nowMs - pastMs, nowMs + aheadMs, offsetMs, mostTicks);
}

/** The axis of one coat from its finish to what comes next within six hours, or to the end of what there is to show. */
export function courseScale(coat: CoatView, nowMs: number, offsetMs: number, mostTicks: number): TimeScale {
  const finishedMs = msOf(coat.finishedAt) ?? nowMs;
  const { next = null, stages = [] } = coat.prediction ?? {};
  const lastSafeMs = msOf(stages.at(-1)?.safeAt ?? null) ?? nowMs;
  const nextMs = msOf(next?.safeAt ?? next?.likelyAt ?? null) ?? nowMs;
  const isOver = next === null || coat.covered;
  const toMs = isOver ? Math.min(nowMs, lastSafeMs) : Math.max(nowMs, nextMs - nowMs <= horizonMs ? nextMs : nowMs);
  const margin = Math.max(toMs - finishedMs, leastAheadMs) / 12;
  return scaleOf(finishedMs - margin / 4, toMs + margin, offsetMs, mostTicks);
}

/** An axis that holds both, snapped to round times of a clock `offsetMs` ahead of UTC. */
export function scaleOf(startMs: number, endMs: number, offsetMs: number, mostTicks: number): TimeScale {
  const span = endMs - startMs;
  const stepMs = stepsMs.find((step) => span / step <= mostTicks) ?? Math.ceil(span / mostTicks / minute) * minute;
  const snapMs = Math.min(stepMs, 15 * minute);
  const fromMs = Math.floor((startMs + offsetMs) / snapMs) * snapMs - offsetMs;
  const toMs = Math.ceil((endMs + offsetMs) / snapMs) * snapMs - offsetMs;
  const ticksMs: number[] = [];
  const firstMs = Math.ceil((fromMs + offsetMs) / stepMs) * stepMs - offsetMs;
  for (let tick = firstMs; tick <= toMs; tick += stepMs) ticksMs.push(tick);
  return { fromMs, toMs, ticksMs };
}
