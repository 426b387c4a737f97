/**
 * Loaded before the program (node --import): its wall clock and its monotonic one tell simulated time; timers and
 * performance.now stay real. Once a second it notes how much memory the process has and how late its timers are.
 */
import { appendFileSync } from "node:fs";
import { monitorEventLoopDelay } from "node:perf_hooks";
import { type FastTime, type Jump, offBy, simulatedMs } from "./fast-time.ts";

export interface InFastTime {
  time: FastTime;
  jumps: Jump[];
  /** JSON lines of Sample. */
  samplesFile: string;
}

export interface Sample {
  pid: number;
  /** By the simulated clock. */
  atMs: number;
  rssBytes: number;
  heapBytes: number;
  /** The longest in the last second. */
  delayMs: number;
}

const stepMs = 10;
const { time, jumps, samplesFile }: InFastTime = JSON.parse(process.env.COATCLOCK_SOAK ?? "");
const nowMs = () => simulatedMs(time, stepMs);
const wallMs = () => {
  const atMs = nowMs();
  return atMs + offBy(jumps, atMs);
};

class FastDate extends Date {
  constructor(...given: unknown[]) {
    super(...((given.length === 0 ? [wallMs()] : given) as [number]));
  }
  static override now = wallMs;
}
globalThis.Date = FastDate as DateConstructor;
process.hrtime.bigint = () => BigInt(nowMs() - time.startMs) * 1_000_000n;

const delay = monitorEventLoopDelay();
delay.enable();
setInterval(() => {
  const { rss, heapUsed } = process.memoryUsage();
  const sample: Sample = {
    pid: process.pid,
    atMs: nowMs(),
    rssBytes: rss,
    heapBytes: heapUsed,
    delayMs: delay.max / 1e6,
  };
  delay.reset();
  appendFileSync(samplesFile, `${JSON.stringify(sample)}\n`);
}, 1_000).unref();
