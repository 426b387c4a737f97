/** Simulated time: a clock that all processes of the soak share and that runs fast, made from the machine's monotonic one. */

export interface FastTime {
  /** UTC milliseconds. Before and after the soak time stands still. */
  startMs: number;
  endMs: number;
  /** The machine's monotonic milliseconds (CLOCK_MONOTONIC, the same in all processes) at startMs. */
  beginsAtMs: number;
  /** Simulated milliseconds in one of the machine's. */
  factor: number;
}

/** A wall clock that is off by so much for a while, by the simulated time. */
export interface Jump {
  fromMs: number;
  untilMs: number;
  byMs: number;
}

const realMs = process.hrtime.bigint;
/** The machine's own, also where process.hrtime tells simulated time. */
export const monotonicMs = (): number => Number(realMs()) / 1e6;

/** Simulated UTC milliseconds, in steps of so many real ones: two looks that follow each other see the same time. */
export function simulatedMs({ startMs, endMs, beginsAtMs, factor }: FastTime, stepMs = 0.001): number {
  const passedMs = Math.floor((monotonicMs() - beginsAtMs) / stepMs) * stepMs * factor;
  return Math.round(Math.min(endMs, startMs + Math.max(0, passedMs)));
}

export function offBy(jumps: readonly Jump[], atMs: number): number {
  return jumps.find(({ fromMs, untilMs }) => fromMs <= atMs && atMs < untilMs)?.byMs ?? 0;
}
