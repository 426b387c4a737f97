/** A shop reduced to what it tells a head office: readings into its queue, and the program's own sender. */
import { pino } from "pino";
import type { Quantity } from "../../collector/readings.ts";
import { Onward } from "../../predictor/onward/onward.ts";
import type { OnwardQueue } from "../../predictor/readings/onward-queue.ts";
import { openSqliteStoreWithQueue } from "../../predictor/readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../../predictor/readings/store.ts";

const sensors = ["booth", "prep", "mixing", "yard"];
const quantitiesRead = ["air-temperature", "air-humidity", "panel-temperature"] as const satisfies Quantity[];
const readingsASecond = sensors.length * quantitiesRead.length;
const daySeconds = 86_400;
export const readingsADay = daySeconds * readingsASecond;

export class SendingShop {
  readonly #store: ReadingStore;
  readonly #queue: OnwardQueue;
  readonly #onward: Onward;
  /** When the reading of each number was stored, on the monotonic clock. */
  readonly #storedAtMs: { from: number; atMs: number }[] = [];
  #timer: NodeJS.Timeout | undefined;
  #nextAtMs = Date.now();
  delaysMs: number[] = [];
  sent = 0;
  #receipted = 0;

  constructor(shop: string, port: number) {
    const { store, queue } = openSqliteStoreWithQueue(":memory:");
    this.#store = store;
    this.#queue = queue;
    const remove = queue.remove.bind(queue);
    queue.remove = (from, to) => {
      this.#receiptedUpTo(from, to);
      remove(from, to);
    };
    this.#onward = new Onward({
      description: {
        shop,
        name: `Invented ${shop}`,
        invented: true,
        language: "en",
        timeZone: "Etc/UTC",
        units: { temperature: "C", clock: "24h" },
        places: {},
      },
      broker: { url: `mqtt://127.0.0.1:${port}`, protocolVersion: 5 },
      queue,
      records: { head: () => null, hashAt: () => null, writtenAfter: () => [], onEntry: () => () => undefined },
      book: { epoch: "", lastNumber: 0, changedAfter: () => [], onPut: () => () => undefined },
      logger: pino({ level: "silent" }),
    });
  }

  /** As after a day without a connection. */
  async queueADay(): Promise<void> {
    this.#nextAtMs -= daySeconds * 1000;
    for (let second = 0; second < daySeconds; second += 500) {
      await this.#append(Array.from({ length: Math.min(500, daySeconds - second) }, () => this.#second()).flat());
    }
  }

  start(): void {
    this.#onward.start();
    this.#timer = setInterval(() => void this.#measure(), 1000);
  }

  /** Measures no more; what waits is still sent. */
  pause(): void {
    clearInterval(this.#timer);
    this.#timer = undefined;
  }

  forgetDelays(): void {
    this.delaysMs = [];
  }

  get left(): number {
    return this.sent - this.#receipted;
  }

  get isEmpty(): boolean {
    // One second's readings are always under way.
    return this.left <= (this.#timer === undefined ? 0 : 2 * readingsASecond);
  }

  async stop(): Promise<void> {
    this.pause();
    await this.#onward.stop();
    await this.#store.close();
  }

  async #measure(): Promise<void> {
    await this.#append(this.#second());
    this.#onward.committed();
  }

  async #append(readings: readonly StoredReading[]): Promise<void> {
    this.#storedAtMs.push({ from: this.#queue.nextNumber, atMs: performance.now() });
    this.sent += (await this.#store.append(readings)).length;
  }

  /** Twelve readings of one moment, the next second each time. */
  #second(): StoredReading[] {
    const atMs = this.#nextAtMs;
    this.#nextAtMs += 1000;
    return sensors.flatMap((sensor, s) =>
      quantitiesRead.map((quantity, q) => ({
        collector: "pi",
        sensor,
        quantity,
        atMs,
        value: Math.round((20 + s + q + Math.sin(atMs / 600_000) + Math.random() / 10) * 100) / 100,
      })),
    );
  }

  #receiptedUpTo(from: number, to: number): void {
    this.#receipted += to - from + 1;
    while ((this.#storedAtMs[1]?.from ?? Number.POSITIVE_INFINITY) <= from) this.#storedAtMs.shift();
    const stored = this.#storedAtMs[0];
    if (stored !== undefined) this.delaysMs.push(performance.now() - stored.atMs);
  }
}
