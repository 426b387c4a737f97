/** How much memory the predictor took, day after day, and whether it stays. */
import { dayMs } from "../load/invented-shop.ts";
import type { Sample } from "./in-fast-time.ts";

export interface MemoryAccount {
  /** Medians of each simulated day. */
  perDay: { day: number; rssMB: number; heapMB: number }[];
  /** Medians of RSS in the four quarters of the soak, without each process's first minute. */
  quartersRssMB: number[];
  /** A line through the samples of each process after its first minute, weighted by their number; null where none lived that long. */
  slopeMBPerDay: number | null;
  /** How late timers were, each second's latest: median and most. */
  delayMs: { median: number; most: number };
  /** The last quarter's median is not more than 1.3 times the second's; true where the soak was too short to say. */
  isFlat: boolean;
}

/** In a process's first minute code is compiled and the heap finds its size; one sample a second. */
const settlingSamples = 60;
const flatWithin = 1.3;
/** Fewer in a quarter say nothing. */
const samplesNeeded = 30;

export function memoryOf(samples: readonly Sample[]): MemoryAccount {
  const lives = [...new Set(samples.map(({ pid }) => pid))].map((pid) =>
    samples.filter((sample) => sample.pid === pid),
  );
  const settled = lives.flatMap((life) => life.slice(settlingSamples)).sort((a, b) => a.atMs - b.atMs);
  const startMs = Math.min(...samples.map(({ atMs }) => atMs));
  const endMs = Math.max(...samples.map(({ atMs }) => atMs));
  const quarters = [0, 1, 2, 3].map((quarter) => {
    const fromMs = startMs + (quarter / 4) * (endMs - startMs);
    const toMs = startMs + ((quarter + 1) / 4) * (endMs - startMs);
    return settled.filter(({ atMs }) => atMs >= fromMs && (atMs < toMs || quarter === 3));
  });
  const [, second = [], , last = []] = quarters;
  const canSay = Math.min(second.length, last.length) >= samplesNeeded;
  const rss = (of: readonly Sample[]) => median(of.map(({ rssBytes }) => rssBytes / 1e6));
  const days = new Set(samples.map(({ atMs }) => Math.floor((atMs - startMs) / dayMs)));
  return {
    perDay: [...days].map((day) => {
      const ofDay = samples.filter(({ atMs }) => Math.floor((atMs - startMs) / dayMs) === day);
      return { day, rssMB: rss(ofDay), heapMB: median(ofDay.map(({ heapBytes }) => heapBytes / 1e6)) };
    }),
    quartersRssMB: quarters.map(rss),
    slopeMBPerDay: slopeOf(lives.map((life) => life.slice(settlingSamples))),
    delayMs: {
      median: median(samples.map(({ delayMs }) => delayMs)),
      most: Math.max(...samples.map(({ delayMs }) => delayMs)),
    },
    isFlat: !canSay || rss(last) <= flatWithin * rss(second),
  };
}

/** MB a simulated day, each life about its own mean. */
function slopeOf(lives: readonly Sample[][]): number | null {
  let above = 0;
  let below = 0;
  for (const life of lives.filter(({ length }) => length >= samplesNeeded)) {
    const meanMs = mean(life.map(({ atMs }) => atMs));
    const meanBytes = mean(life.map(({ rssBytes }) => rssBytes));
    for (const { atMs, rssBytes } of life) {
      above += (atMs - meanMs) * (rssBytes - meanBytes);
      below += (atMs - meanMs) ** 2;
    }
  }
  return below > 0 ? ((above / below) * dayMs) / 1e6 : null;
}

function mean(of: readonly number[]): number {
  return of.reduce((sum, each) => sum + each, 0) / of.length;
}

/** NaN of none. */
function median(of: readonly number[]): number {
  return of.toSorted((a, b) => a - b)[Math.floor(of.length / 2)] ?? Number.NaN;
}
