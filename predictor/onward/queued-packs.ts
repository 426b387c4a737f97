/** The queue of readings as packs for the dispatcher: what was committed since the connection began is live, all before it backlog. */
import type { Urgency, WaitingPack } from "../../collector/outbox/outbox.ts";
import { packDigest, quantities, type SenmlRecord } from "../../collector/readings.ts";
import type { OnwardQueue } from "../readings/onward-queue.ts";
import type { StoredReading } from "../readings/store.ts";

export const readingsAPack = 500;

/** Readings of any collectors and sensors as one SenML pack: the base name changes where the sensor does. */
export function onwardPack(readings: readonly StoredReading[]): SenmlRecord[] {
  const first = readings[0];
  if (first === undefined) throw new RangeError("a pack needs at least one reading");
  const nameOf = ({ collector, sensor }: StoredReading) => `${collector}/${sensor}/`;
  const bySensor = new Map<string, StoredReading[]>();
  for (const reading of readings) {
    const ofSensor = bySensor.get(nameOf(reading));
    if (ofSensor === undefined) bySensor.set(nameOf(reading), [reading]);
    else ofSensor.push(reading);
  }
  const baseMs = first.atMs;
  return [...bySensor].flatMap(([bn, ofSensor], sensorIndex) =>
    ofSensor.map(({ quantity, atMs, value, mark }, index) => ({
      ...(index === 0 ? { bn } : {}),
      ...(index === 0 && sensorIndex === 0 ? { bt: baseMs / 1000 } : {}),
      n: quantity,
      u: quantities[quantity].unit,
      ...(atMs === baseMs ? {} : { t: (atMs - baseMs) / 1000 }),
      v: value,
      ...mark,
    })),
  );
}

interface NumberedPack extends WaitingPack {
  from: number;
  to: number;
}

export class QueuedPacks {
  readonly #queue: OnwardQueue;
  readonly #made: Record<Urgency, Map<string, NumberedPack>> = { live: new Map(), backlog: new Map() };
  /** From where on readings are live. */
  #liveFrom: number;
  /** Up to where packs were made: of the backlog, and of what is live. */
  #next: Record<Urgency, number>;
  /** Live readings below it are gathered long enough. */
  #gathered: number;

  constructor(queue: OnwardQueue) {
    this.#queue = queue;
    this.#liveFrom = queue.nextNumber;
    this.#gathered = this.#liveFrom;
    this.#next = { live: this.#liveFrom, backlog: 0 };
  }

  /** Live readings that are in no pack yet. */
  get gathering(): number {
    return this.#queue.nextNumber - this.#next.live;
  }

  /** What was committed until now may go. */
  gathered(): void {
    this.#gathered = this.#queue.nextNumber;
  }

  /** Packs made and not yet receipted, oldest first, and then further ones, made as they are asked for. */
  *waiting(urgency: Urgency): Generator<WaitingPack> {
    yield* [...this.#made[urgency].values()];
    for (let pack = this.#make(urgency); pack !== null; pack = this.#make(urgency)) yield pack;
  }

  remove(digest: string): boolean {
    for (const made of Object.values(this.#made)) {
      const pack = made.get(digest);
      if (pack === undefined) continue;
      made.delete(digest);
      this.#queue.remove(pack.from, pack.to);
      return true;
    }
    return false;
  }

  demoteLive(): void {
    const left = Object.values(this.#made).flatMap((made) => [...made.values()]);
    const [oldest] = left.map(({ from }) => from).sort((a, b) => a - b);
    // What was receipted among them is gone, or leaves at the next reading: sent once more it is known there.
    this.#next.backlog = Math.min(oldest ?? Number.POSITIVE_INFINITY, this.#next.backlog);
    for (const made of Object.values(this.#made)) made.clear();
    this.#liveFrom = this.#queue.nextNumber;
    this.#next.live = this.#liveFrom;
    this.#gathered = this.#liveFrom;
  }

  #make(urgency: Urgency): NumberedPack | null {
    const before = urgency === "live" ? this.#gathered : this.#liveFrom;
    const queued = this.#queue.between(this.#next[urgency], before, readingsAPack);
    const [first, last] = [queued[0], queued.at(-1)];
    if (first === undefined || last === undefined) return null;
    this.#next[urgency] = last.number + 1;
    const payload = JSON.stringify(onwardPack(queued.map(({ reading }) => reading)));
    const pack = { digest: packDigest(Buffer.from(payload)), payload, from: first.number, to: last.number };
    this.#made[urgency].set(pack.digest, pack);
    return pack;
  }
}
