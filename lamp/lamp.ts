/** A lamp at work: hears what the predictor retains and its signs of life, and drives the outputs by them. */
import type { Logger } from "pino";
import { Connection } from "../collector/connection.ts";
import { jsonIn, timeSignalSchema, topicsOf } from "../collector/readings.ts";
import type { BrokerAddress } from "../collector/settings.ts";
import { Tally } from "../collector/tally.ts";
import { Facts } from "./facts.ts";
import { Output } from "./output.ts";
import type { LampSettings } from "./settings.ts";

export interface LampTimes {
  /** Without a sign of life for this long, nothing is shown but `lost`. */
  silenceMs: number;
  /** After the first sign of life on a connection, everything that is true has been told within this (the predictor looks every 10 s). */
  settleMs: number;
}
export const usualTimes: LampTimes = { silenceMs: 30_000, settleMs: 15_000 };

export interface LampOptions {
  shop: string;
  name: string;
  settings: LampSettings;
  broker: BrokerAddress;
  logger: Logger;
  times?: Partial<LampTimes>;
}

const tickMs = 500;

export class Lamp {
  readonly #times: LampTimes;
  readonly #topics: ReturnType<typeof topicsOf>;
  readonly #connection: Connection;
  readonly #outputs: Output[];
  readonly #facts: Facts;
  readonly #tally: Tally;
  readonly #startedMs = performance.now();
  #lastSignMs: number | null = null;
  /** When the present connection has told all; null until a sign of life on it. */
  #settledAtMs: number | null = null;
  #hasSettled = false;
  #ticking: NodeJS.Timeout | undefined;

  constructor({ shop, name, settings, broker, logger, times }: LampOptions) {
    this.#times = { ...usualTimes, ...times };
    this.#topics = topicsOf(shop);
    this.#tally = new Tally(logger);
    this.#facts = new Facts(this.#tally);
    this.#outputs = settings.outputs.map((output) => new Output(output, logger));
    this.#connection = new Connection({
      broker,
      clientId: `coatclock-${shop}-lamp-${name}`,
      subscriptions: [this.#topics.readiness("+", "+"), this.#topics.warnings("+", "+"), this.#topics.time],
      opened: () => undefined,
      lost: () => this.#lost(),
      message: (topic, payload) => this.#take(topic, payload),
      logger,
    });
  }

  start(): void {
    this.#connection.start();
    this.#ticking = setInterval(() => this.#show(), tickMs);
  }

  /** Leaves the outputs off and their lines free. Within about ten seconds, even where an installer's program hangs. */
  async stop(): Promise<void> {
    clearInterval(this.#ticking);
    // First nothing new may come.
    await this.#connection.stop();
    await Promise.all(this.#outputs.map((output) => output.stop()));
  }

  /** What each output does, in words, by what it switches. */
  state(): Record<string, string> {
    return Object.fromEntries(this.#outputs.map((output) => [output.name, output.state()]));
  }

  #take(topic: string, payload: Buffer): void {
    if (topic !== this.#topics.time) this.#facts.take(topic, payload);
    else if (timeSignalSchema.safeParse(jsonIn(payload)).success) this.#heard();
    else this.#tally.fault("not of the documented form", { topic });
    this.#show();
  }

  #heard(): void {
    this.#lastSignMs = performance.now();
    this.#settledAtMs ??= this.#lastSignMs + this.#times.settleMs;
  }

  #lost(): void {
    this.#settledAtMs = null;
    this.#facts.connectionLost();
  }

  #show(): void {
    const nowMs = performance.now();
    const quietSinceMs = this.#lastSignMs ?? this.#startedMs;
    const isSilent = nowMs - quietSinceMs >= this.#times.silenceMs;
    if (isSilent) this.#facts.hideOld();
    if (this.#settledAtMs !== null && nowMs >= this.#settledAtMs) {
      this.#facts.dropOld();
      this.#hasSettled = true;
    }
    const situation = {
      shown: this.#facts.shown(),
      known: this.#facts.all(),
      isAlive: this.#lastSignMs !== null && !isSilent,
      silence: isSilent ? String(quietSinceMs) : null,
      isQuiet: !this.#hasSettled,
    };
    for (const output of this.#outputs) output.show(situation);
  }
}
