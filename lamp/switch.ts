/** Brings a line or a command to the state that is wanted last, one attempt at a time, and tries again where that fails. */
import { once } from "node:events";
import type { Logger } from "pino";

/** Something that can be on or off. */
export interface Drive {
  /** Brings it to a state; rejects with what hinders it, in words. Not called again before it has settled. */
  apply(on: boolean): Promise<void>;
  /** Lets go of it; never rejects. */
  release(): Promise<void>;
}

/** `gone` is for the drive to tell that a state it had reached is gone, and why. */
export type OpenDrive = (gone: (reason: string) => void) => Drive;

export interface SwitchTimes {
  retryMs: number;
  /** A fault is over when nothing failed for this long. */
  soundMs: number;
}
const usualTimes: SwitchTimes = { retryMs: 10_000, soundMs: 10_000 };

export class Switch {
  readonly #drive: Drive;
  readonly #logger: Logger;
  readonly #times: SwitchTimes;
  readonly #working: Promise<void>;
  #wanted = false;
  /** Null while it is not known. */
  #applied: boolean | null = null;
  #fault: string | null = null;
  #stopping = false;
  #wake = new AbortController();
  #retry: NodeJS.Timeout | undefined;
  #clearing: NodeJS.Timeout | undefined;

  /** Begins by switching off. */
  constructor(open: OpenDrive, logger: Logger, times: Partial<SwitchTimes> = {}) {
    this.#drive = open((reason) => this.#gone(reason));
    this.#logger = logger;
    this.#times = { ...usualTimes, ...times };
    this.#working = this.#work();
  }

  set(on: boolean): void {
    if (on === this.#wanted || this.#stopping) return;
    this.#wanted = on;
    this.#wake.abort();
  }

  /** In words: `on`, `off`, `switching`, or what hinders it. */
  state(): string {
    if (this.#fault !== null) return `failed: ${this.#fault}`;
    if (this.#applied !== this.#wanted) return "switching";
    return this.#wanted ? "on" : "off";
  }

  /** Switches off, then lets go. */
  async stop(): Promise<void> {
    this.#stopping = true;
    this.#wanted = false;
    this.#wake.abort();
    await this.#working;
  }

  async #work(): Promise<void> {
    for (;;) {
      this.#wake = new AbortController();
      const { signal } = this.#wake;
      const isLast = this.#stopping;
      if (this.#applied !== this.#wanted) await this.#apply(this.#wanted);
      if (isLast) break;
      if (!signal.aborted) await once(signal, "abort");
    }
    clearTimeout(this.#retry);
    clearTimeout(this.#clearing);
    await this.#drive.release();
  }

  async #apply(on: boolean): Promise<void> {
    // Until it has settled nobody knows how it stands.
    this.#applied = null;
    try {
      await this.#drive.apply(on);
    } catch (error) {
      this.#failed(error instanceof Error ? error.message : String(error));
      return;
    }
    this.#applied = on;
    if (this.#fault !== null) this.#clearing ??= setTimeout(() => this.#cleared(), this.#times.soundMs);
  }

  #gone(reason: string): void {
    if (this.#stopping) return;
    this.#applied = null;
    this.#failed(reason);
  }

  #failed(reason: string): void {
    clearTimeout(this.#clearing);
    this.#clearing = undefined;
    if (this.#fault !== reason) this.#logger.error({ reason }, "an output cannot be switched; trying again");
    this.#fault = reason;
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => this.#wake.abort(), this.#times.retryMs);
  }

  #cleared(): void {
    this.#clearing = undefined;
    this.#fault = null;
    this.#logger.info("the output can be switched again");
  }
}
