/** The packs of the last seconds, in memory: most get their receipt here and never reach the card. */
import type { Urgency, WaitingPack } from "./outbox.ts";

export interface RecentPack extends WaitingPack {
  /** Its place in the order of making. */
  readonly order: number;
  /** The boot of the machine under which an undated pack is held; null for a dated one. */
  readonly boot: string | null;
  /** Its row in the journal; undefined while the journal has not taken it. */
  journalId: number | undefined;
}

/** Bytes that a pack costs in memory beside its text: map entry, digest, object. About 233 were measured with Node 20. */
const overheadBytes = 250;

export class RecentPacks {
  readonly #live = new Map<string, RecentPack>();
  #backlog = new Map<string, RecentPack>();
  readonly #held = new Map<string, RecentPack>();
  #newestOfBacklog = 0;
  #bytes = 0;

  get packs(): number {
    return this.#live.size + this.#backlog.size + this.#held.size;
  }

  get heldPacks(): number {
    return this.#held.size;
  }

  /** What the packs cost in memory. */
  get bytes(): number {
    return this.#bytes;
  }

  has(digest: string): boolean {
    return this.#live.has(digest) || this.#backlog.has(digest) || this.#held.has(digest);
  }

  /** Adds packs in order, but for those whose bytes are here. A pack with a boot is held, whatever its urgency. */
  add(packs: readonly RecentPack[], urgency: Urgency): void {
    const dated: RecentPack[] = [];
    for (const pack of packs) {
      if (this.has(pack.digest)) continue;
      this.#bytes += pack.payload.length + overheadBytes;
      if (pack.boot !== null) this.#held.set(pack.digest, pack);
      else if (urgency === "live") this.#live.set(pack.digest, pack);
      else dated.push(pack);
    }
    this.#mergeIntoBacklog(dated);
  }

  /** Takes a dated pack out; undefined when it is not here. */
  take(digest: string): RecentPack | undefined {
    const pack = this.#live.get(digest) ?? this.#backlog.get(digest);
    if (pack !== undefined) this.delete(pack);
    return pack;
  }

  delete(pack: RecentPack): void {
    const isHere =
      pack.boot === null
        ? this.#live.delete(pack.digest) || this.#backlog.delete(pack.digest)
        : this.#held.delete(pack.digest);
    if (isHere) this.#bytes -= pack.payload.length + overheadBytes;
  }

  waiting(urgency: Urgency): Iterable<RecentPack> {
    return (urgency === "live" ? this.#live : this.#backlog).values();
  }

  held(): Iterable<RecentPack> {
    return this.#held.values();
  }

  *all(): Iterable<RecentPack> {
    yield* this.#held.values();
    yield* this.#backlog.values();
    yield* this.#live.values();
  }

  /** Live packs up to a place in the order become backlog. */
  demote(upTo: number): void {
    const demoted = upToOrder(this.#live.values(), upTo);
    for (const pack of demoted) this.#live.delete(pack.digest);
    this.#mergeIntoBacklog(demoted);
  }

  /** The oldest packs that are not live, at most `count`, up to a place in the order. */
  oldest(count: number, upTo: number): RecentPack[] {
    const backlog = upToOrder(this.#backlog.values(), upTo, count);
    const held = upToOrder(this.#held.values(), upTo, count);
    return [...backlog, ...held].sort((a, b) => a.order - b.order).slice(0, count);
  }

  /** Takes out the oldest pack that is not live, or else the oldest live one. */
  takeOldest(): RecentPack | undefined {
    const pack = this.oldest(1, Number.POSITIVE_INFINITY)[0] ?? first(this.#live.values());
    if (pack !== undefined) this.delete(pack);
    return pack;
  }

  /** The backlog stays in order, though packs may join it late. */
  #mergeIntoBacklog(packs: readonly RecentPack[]): void {
    const newest = this.#newestOfBacklog;
    for (const pack of packs) this.#backlog.set(pack.digest, pack);
    const joined = packs[0];
    if (joined !== undefined && joined.order < newest) {
      this.#backlog = new Map([...this.#backlog].sort(([, a], [, b]) => a.order - b.order));
    }
    this.#newestOfBacklog = Math.max(newest, packs.at(-1)?.order ?? 0);
  }
}

/** From the front of packs in order. */
function upToOrder(packs: Iterable<RecentPack>, upTo: number, count = Number.POSITIVE_INFINITY): RecentPack[] {
  const taken: RecentPack[] = [];
  for (const pack of packs) {
    if (pack.order > upTo || taken.length >= count) break;
    taken.push(pack);
  }
  return taken;
}

function first<T>(items: Iterable<T>): T | undefined {
  for (const item of items) return item;
  return undefined;
}
