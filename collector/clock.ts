/**
 * Whether this machine's wall clock can be believed, and when a moment was. A Raspberry Pi without a battery-backed clock
 * boots with a wrong time, and a time service may move the clock by any amount while the program runs. So moments are taken
 * on the monotonic clock, and become instants by the offset between the two as it is known when a clock can be believed.
 */
import { execFile } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { promisify } from "node:util";
import type { Logger } from "pino";
import type { ClockState, TimeSignal } from "./readings.ts";

export interface ClockOptions {
  /** The installer's word that this clock is right, though no time service says so. */
  trusted: boolean;
  logger: Logger;
  /**
   * systemd-timesyncd keeps this folder while it runs and puts the file `synchronized` in it after the first successful
   * synchronisation since boot (systemd-timesyncd.service(8)).
   */
  timesyncFolder?: string;
  /** What the kernel says where that folder is missing: a service such as ntpd or chrony keeps the flag of adjtimex(2). */
  kernelState?: () => Promise<"synchronised" | "unsynchronised" | "unknown">;
  wallMs?: () => number;
  monotonicMs?: () => number;
}

/** Wall and monotonic clock part by less than this when a time service slews, by more when someone sets the clock. */
const jumpMs = 1_000;
/** Closer than this the offset is left as it is: the wall clock ticks in whole milliseconds, and two moments must not become one instant. */
const sameMs = 2;
/** Two looks at the clocks that took longer than this were interrupted, and say nothing of the offset. */
const interruptedMs = 1;
/** A new time must stand this long before it is believed; assumed, longer than a time service needs to put right its own step. */
const jumpStandsMs = 60_000;
const kernelAskedEveryMs = 10_000;
/** The predictor's time: how many messages are needed, how many the best is taken of, and for how long it holds when they stop. */
const heardNeeded = 3;
const heardKept = 6;
const heardHoldsMs = 60 * 60_000;

export class Clock {
  readonly #trusted: boolean;
  readonly #logger: Logger;
  readonly #timesyncFolder: string;
  readonly #kernelState: () => Promise<"synchronised" | "unsynchronised" | "unknown">;
  readonly #wallMs: () => number;
  readonly #monotonicMs: () => number;
  #kernel: "synchronised" | "unsynchronised" | "unknown" = "unknown";
  #timer: NodeJS.Timeout | undefined;
  /** Wall minus monotonic, as last believed of this machine's own clock. */
  #offsetMs: number | null = null;
  #jump: { offsetMs: number; sinceMs: number } | null = null;
  /** The same by the predictor's messages, newest last. A message that was long on its way makes it too small, none too large. */
  #heard: { offsetMs: number; atMs: number }[] = [];

  constructor(options: ClockOptions) {
    this.#trusted = options.trusted;
    this.#logger = options.logger;
    this.#timesyncFolder = options.timesyncFolder ?? "/run/systemd/timesync";
    this.#kernelState = options.kernelState ?? askKernel;
    this.#wallMs = options.wallMs ?? Date.now;
    this.#monotonicMs = options.monotonicMs ?? (() => Number(process.hrtime.bigint()) / 1e6);
  }

  /** Resolves when the state is known for the first time. */
  async start(): Promise<void> {
    await this.#askKernel();
    this.#timer = setInterval(() => void this.#askKernel(), kernelAskedEveryMs);
  }

  stop(): void {
    clearInterval(this.#timer);
  }

  /** Milliseconds since this machine started; never set, never moved (CLOCK_MONOTONIC). */
  monotonicMs(): number {
    return this.#monotonicMs();
  }

  state(): ClockState {
    return this.#look().state;
  }

  /** The instant of a moment of this boot, in UTC milliseconds; null while no clock can be believed. */
  instantOf(monotonicMs: number): number | null {
    const { offsetMs } = this.#look();
    return offsetMs === null ? null : Math.round(monotonicMs + offsetMs);
  }

  /** Takes the predictor's time as it arrives. */
  heard({ at, believed }: TimeSignal): void {
    if (!believed) return;
    const atMs = this.#monotonicMs();
    this.#heard = [...this.#heard, { offsetMs: Date.parse(at) - atMs, atMs }].slice(-heardKept);
  }

  #look(): { state: ClockState; offsetMs: number | null } {
    const own = this.#ownState();
    if (own !== "unsynchronised") return this.#guardJumps(own);
    this.#offsetMs = null;
    this.#jump = null;
    const heardMs = this.#heardOffsetMs();
    return heardMs === null
      ? { state: "unsynchronised", offsetMs: null }
      : { state: "by predictor", offsetMs: heardMs };
  }

  #ownState(): "trusted" | "synchronised" | "unsynchronised" | "unknown" {
    if (existsSync(join(this.#timesyncFolder, "synchronized"))) return "synchronised";
    const own = existsSync(this.#timesyncFolder) ? "unsynchronised" : this.#kernel;
    return own !== "synchronised" && this.#trusted ? "trusted" : own;
  }

  #guardJumps(state: ClockState): { state: ClockState; offsetMs: number | null } {
    const nowMs = this.#monotonicMs();
    const { offsetMs, isSure } = this.#measuredOffset();
    if (!isSure && this.#jump !== null) return { state: "jumped", offsetMs: null };
    if (!isSure && this.#offsetMs !== null) return { state, offsetMs: this.#offsetMs };
    if (this.#offsetMs !== null && this.#jump === null && Math.abs(offsetMs - this.#offsetMs) < sameMs) {
      return { state, offsetMs: this.#offsetMs };
    }
    const isNear = (otherMs: number) => Math.abs(offsetMs - otherMs) < jumpMs;
    if (this.#offsetMs === null || isNear(this.#offsetMs)) {
      if (this.#jump !== null) this.#logger.warn("the clock's jump was taken back");
      this.#jump = null;
      this.#offsetMs = offsetMs;
      return { state, offsetMs };
    }
    if (this.#jump === null || !isNear(this.#jump.offsetMs)) {
      this.#jump = { offsetMs, sinceMs: nowMs };
      const bySeconds = Math.round((offsetMs - this.#offsetMs) / 1000);
      this.#logger.error(
        { bySeconds },
        "the clock has jumped; readings wait until the new time has stood for a minute",
      );
    }
    if (nowMs - this.#jump.sinceMs < jumpStandsMs) return { state: "jumped", offsetMs: null };
    this.#logger.warn("the clock's new time has stood and is believed");
    this.#jump = null;
    this.#offsetMs = offsetMs;
    return { state, offsetMs };
  }

  /** Wall minus monotonic, now; not sure where the program was interrupted between the two, each time it tried. */
  #measuredOffset(): { offsetMs: number; isSure: boolean } {
    let offsetMs = 0;
    for (let tries = 0; tries < 5; tries += 1) {
      const beforeMs = this.#monotonicMs();
      offsetMs = this.#wallMs() - beforeMs;
      if (this.#monotonicMs() - beforeMs < interruptedMs) return { offsetMs, isSure: true };
    }
    return { offsetMs, isSure: false };
  }

  #heardOffsetMs(): number | null {
    const newest = this.#heard.at(-1);
    if (newest === undefined || this.#heard.length < heardNeeded) return null;
    if (this.#monotonicMs() - newest.atMs > heardHoldsMs) return null;
    return Math.max(...this.#heard.map((each) => each.offsetMs));
  }

  async #askKernel(): Promise<void> {
    if (!existsSync(this.#timesyncFolder)) this.#kernel = await this.#kernelState();
  }
}

/** Runs the probe that is compiled beside this file; `unknown` where it is missing or may not ask. */
async function askKernel(): Promise<"synchronised" | "unsynchronised" | "unknown"> {
  try {
    const { stdout } = await promisify(execFile)(resolve(import.meta.dirname, "clock-probe"), { timeout: 2_000 });
    const said = stdout.trim();
    return said === "synchronised" || said === "unsynchronised" ? said : "unknown";
  } catch {
    return "unknown";
  }
}

/** Tells one boot of this machine from another, so that a moment kept on the monotonic clock is not read by another's. */
export function bootId(): string {
  try {
    return readFileSync("/proc/sys/kernel/random/boot_id", "utf8").trim();
  } catch {
    // Not Linux: nothing kept by another process is dated.
    return crypto.randomUUID();
  }
}
