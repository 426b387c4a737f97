/** An invented room that measures itself: first its past, then the present, on one curve. */
import { setTimeout as delay, setImmediate as nextTurn } from "node:timers/promises";
import type { Reading } from "../readings.ts";
import type { RehearsalSettings } from "../settings.ts";
import type { InventedRoom } from "./rehearsal-rooms.ts";
import { inventedRoom } from "./rehearsal-rooms.ts";
import type { Outlet, Source, SourceContext, SourceState } from "./source.ts";

/** The past is sent with readings this far apart, or as far as the live ones where those are rarer. */
const pastEveryMs = 30_000;
const instantsPerBatch = 50;

export class RehearsalSource implements Source {
  readonly name: string;
  readonly #settings: RehearsalSettings;
  readonly #room: InventedRoom;
  readonly #pastMs: number;
  readonly #ending = new AbortController();
  #state = "not started";
  #running: Promise<void> = Promise.resolve();

  constructor(settings: RehearsalSettings, context: SourceContext) {
    this.name = `rehearsal ${settings.room}`;
    this.#settings = settings;
    this.#room = inventedRoom({ ...settings, zone: context.shopZone });
    this.#pastMs = context.sendPast ? settings.pastHours * 3_600_000 : 0;
  }

  start(outlet: Outlet): void {
    this.#running = this.#run(outlet);
  }

  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#running;
    this.#state = "stopped";
  }

  state(): SourceState {
    return { state: this.#state, counters: {} };
  }

  async #run(outlet: Outlet): Promise<void> {
    const { signal } = this.#ending;
    this.#state = "inventing its past";
    await this.#sendPast(outlet);
    this.#state = "inventing";
    // Instants are whole multiples of the interval, so that a restart goes on in the same rhythm.
    const everyMs = this.#settings.everySeconds * 1000;
    let lastMs = Number.NaN;
    while (!signal.aborted) {
      let nextMs = (Math.floor(Date.now() / everyMs) + 1) * everyMs;
      // A timer may fire a hair early; the instant it was set for has had its reading then.
      if (nextMs === lastMs) nextMs += everyMs;
      lastMs = nextMs;
      await delay(nextMs - Date.now(), undefined, { signal }).catch(() => undefined);
      if (!signal.aborted) outlet.put(this.#readingsAt(nextMs), "live");
    }
  }

  async #sendPast(outlet: Outlet): Promise<void> {
    const { signal } = this.#ending;
    const everyMs = Math.max(pastEveryMs, this.#settings.everySeconds * 1000);
    let atMs = Math.ceil((Date.now() - this.#pastMs) / everyMs) * everyMs;
    while (atMs <= Date.now() && this.#pastMs > 0 && !signal.aborted) {
      const batch: Reading[] = [];
      for (let n = 0; n < instantsPerBatch && atMs <= Date.now(); n += 1, atMs += everyMs) {
        batch.push(...this.#readingsAt(atMs));
      }
      outlet.put(batch, "backlog");
      await outlet.room();
      await nextTurn();
    }
  }

  #readingsAt(atMs: number): Reading[] {
    const { sensor } = this.#settings;
    return this.#room.read(atMs).map(([quantity, value]) => ({ sensor, quantity, atMs: Math.round(atMs), value }));
  }
}
