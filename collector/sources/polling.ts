/** The loop of the sources that ask one thing after another at a fixed interval. */
import { setTimeout as delay } from "node:timers/promises";
import type { Logger } from "pino";
import { Tally } from "../tally.ts";
import type { Measurement, Outlet, Source, SourceState } from "./source.ts";

export interface Fault {
  /** Counted by this. */
  kind: string;
  /** For the state: the kind itself unless there is more to say. The same fault must say the same words. */
  words?: string;
  /** For the log. */
  detail?: Record<string, unknown>;
}

export interface Answer {
  measurements: Measurement[];
  faults: Fault[];
}

/** What is asked in its turn: a probe, a chip. */
export interface Polled {
  readonly name: string;
  /** Never rejects, and comes back soon after the signal. */
  ask(signal: AbortSignal): Promise<Answer>;
}

export class PollingSource implements Source {
  readonly name: string;
  readonly #everyMs: number;
  readonly #polled: readonly Polled[];
  readonly #answers: (Answer | undefined)[];
  /** What the state says is wrong with each: a single bad reading between good ones is counted only. */
  readonly #troubles: string[];
  readonly #tally: Tally;
  readonly #ending = new AbortController();
  #running: Promise<void> | undefined;

  constructor(name: string, everySeconds: number, polled: readonly Polled[], logger: Logger) {
    this.name = name;
    this.#everyMs = everySeconds * 1000;
    this.#polled = polled;
    this.#answers = polled.map(() => undefined);
    this.#troubles = polled.map(() => "");
    this.#tally = new Tally(logger);
  }

  start(outlet: Outlet): void {
    this.#running = this.#run(outlet);
  }

  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#running;
  }

  /** `reading`, or how many are free of trouble and what is wrong with each of the others. */
  state(): SourceState {
    return { state: this.#words(), counters: this.#tally.counters() };
  }

  #words(): string {
    if (this.#ending.signal.aborted) return "stopped";
    if (this.#running === undefined) return "not started";
    const troubles = this.#troubles.filter((trouble) => trouble !== "");
    const all = this.#polled.length;
    if (troubles.length > 0) return `reading ${all - troubles.length} of ${all}; ${troubles.join("; ")}`;
    return this.#answers.includes(undefined) ? "beginning" : "reading";
  }

  async #run(outlet: Outlet): Promise<void> {
    const { signal } = this.#ending;
    let dueMs = performance.now();
    while (!signal.aborted) {
      for (const [n, polled] of this.#polled.entries()) {
        const answer = await polled.ask(signal);
        if (signal.aborted) return;
        this.#take(n, polled, answer);
        if (answer.measurements.length > 0) outlet.measured(answer.measurements);
      }
      // After a turn that took longer than the interval, the next begins at the next whole interval.
      dueMs += this.#everyMs * Math.max(1, Math.ceil((performance.now() - dueMs) / this.#everyMs));
      await delay(dueMs - performance.now(), undefined, { signal }).catch(() => undefined);
    }
  }

  #take(n: number, polled: Polled, answer: Answer): void {
    const before = this.#answers[n];
    const isNews = before !== undefined && before.faults.length === 0;
    const words = answer.faults.map((fault) => fault.words ?? fault.kind).join(", ");
    this.#troubles[n] = words === "" || isNews ? "" : `${polled.name}: ${words}`;
    this.#answers[n] = answer;
    for (const { kind, detail } of answer.faults) this.#tally.fault(kind, { asked: polled.name, ...detail });
    if (answer.measurements.length > 0) this.#tally.count("readings", answer.measurements.length);
  }
}
