/** A series a day at a time, so that memory has a bound. */
import type { ReadingSource, Series } from "./store.ts";

export interface Span {
  fromMs: number;
  toMs: number;
}

const dayMs = 24 * 60 * 60_000;

/** The days in UTC on which there is something, cut to the span. */
export async function* daysOf(source: ReadingSource, series: Series, { fromMs, toMs }: Span): AsyncGenerator<Span> {
  let next = await source.earliest(series, fromMs);
  while (next !== undefined && next.atMs < toMs) {
    const dayStartMs = Math.floor(next.atMs / dayMs) * dayMs;
    const dayEndMs = dayStartMs + dayMs;
    yield { fromMs: Math.max(dayStartMs, fromMs), toMs: Math.min(dayEndMs, toMs) };
    next = await source.earliest(series, dayEndMs);
  }
}
