/** Plays a recorded CSV file as if its sensors were here (docs/playback.md). */
import { basename, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import type { Logger } from "pino";
import type { Reading } from "../readings.ts";
import type { PlaybackSettings } from "../settings.ts";
import { Tally } from "../tally.ts";
import type { PlaybackFile } from "./playback-rows.ts";
import { playbackRows } from "./playback-rows.ts";
import type { Outlet, Source, SourceContext, SourceState } from "./source.ts";

/** Readings put at once at most. */
const batchReadings = 500;
/** A single timer cannot wait longer than 24.8 days; this keeps well below. */
const longestWaitMs = 3_600_000;

export class PlaybackSource implements Source {
  readonly name: string;
  readonly #settings: PlaybackSettings;
  readonly #file: PlaybackFile;
  readonly #logger: Logger;
  readonly #tally: Tally;
  readonly #ending = new AbortController();
  #state = "not started";
  #playing: Promise<void> = Promise.resolve();

  constructor(settings: PlaybackSettings, context: SourceContext) {
    this.name = `playback ${basename(settings.file)}`;
    this.#settings = settings;
    this.#file = {
      path: resolve(context.baseFolder, settings.file),
      zone: settings.time.zone ?? context.shopZone,
      settings,
    };
    this.#logger = context.logger;
    this.#tally = new Tally(context.logger);
  }

  start(outlet: Outlet): void {
    this.#state = "playing";
    this.#playing = this.#play(outlet).then(
      () => this.#finish(),
      (error: unknown) => {
        if (this.#ending.signal.aborted) return;
        this.#state = `failed: ${error instanceof Error ? error.message : String(error)}`;
        this.#logger.error({ source: this.name }, this.#state);
      },
    );
  }

  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#playing;
    if (this.#state === "playing") this.#state = "stopped";
  }

  state(): SourceState {
    return { state: this.#state, counters: this.#tally.counters() };
  }

  async #play(outlet: Outlet): Promise<void> {
    const { instants, speed } = this.#settings;
    const { signal } = this.#ending;
    if (instants === "now" && speed !== 1) {
      this.#logger.warn(
        { source: this.name, speed },
        "played faster than recorded, instants shifted to now lie ahead of now",
      );
    }
    const urgency = speed === "all" ? "backlog" : "live";
    const startedAtMs = Date.now();
    const startedMonotonicMs = performance.now();
    let firstMs: number | undefined;
    let batch: Reading[] = [];
    const putBatch = async () => {
      outlet.put(batch, urgency);
      this.#tally.count("readings", batch.length);
      batch = [];
      await outlet.room();
    };
    const meeting = { tally: this.#tally, logger: this.#logger, signal };
    for await (const { atMs, readings } of playbackRows(this.#file, meeting)) {
      firstMs ??= atMs;
      const dueMs = speed === "all" ? 0 : startedMonotonicMs + (atMs - firstMs) / speed;
      if (performance.now() < dueMs) {
        if (batch.length > 0) await putBatch();
        await waitUntil(dueMs, signal);
      }
      if (signal.aborted) return;
      const shiftMs = instants === "now" ? startedAtMs - firstMs : 0;
      batch.push(...readings.map((reading) => ({ ...reading, atMs: reading.atMs + shiftMs })));
      if (batch.length >= batchReadings) await putBatch();
    }
    if (batch.length > 0) await putBatch();
  }

  #finish(): void {
    if (this.#ending.signal.aborted) return;
    const readings = this.#tally.of("readings");
    this.#state = readings > 0 ? "finished" : "failed: no row of the file could be used";
    this.#logger[readings > 0 ? "info" : "error"]({ source: this.name, ...this.#tally.counters() }, this.#state);
  }
}

/** Waits until a moment of the monotonic clock; returns early when aborted. */
async function waitUntil(dueMs: number, signal: AbortSignal): Promise<void> {
  for (let leftMs = dueMs - performance.now(); leftMs > 0 && !signal.aborted; leftMs = dueMs - performance.now()) {
    await delay(Math.min(leftMs, longestWaitMs), undefined, { signal }).catch(() => undefined);
  }
}
