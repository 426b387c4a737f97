/** The packs on the card as the backlog that they are: only those that were handed out, or come next, are in memory. */
import type { PackFile } from "./file.ts";
import type { StoredPack } from "./salvage.ts";

/** Packs that are read at once. */
const packsPerPage = 64;

export class CardBacklog {
  readonly #card: PackFile;
  readonly #inHand = new Map<string, StoredPack>();
  /** The id up to which the card's packs are in hand. */
  #upTo = 0;

  constructor(card: PackFile) {
    this.#card = card;
  }

  has(digest: string): boolean {
    return this.#inHand.has(digest);
  }

  /** Oldest first. What is looked at comes into memory, and stays there until it is taken or put back. */
  *waiting(): Iterable<StoredPack> {
    yield* this.#inHand.values();
    while (this.#upTo < this.#card.lastId) {
      const page = this.#card.page(this.#upTo, packsPerPage);
      if (page === undefined) return;
      this.#upTo = page.upTo;
      for (const pack of page.packs) {
        const known = this.#inHand.get(pack.digest);
        if (known === undefined) this.#inHand.set(pack.digest, pack);
        else if (known.id !== pack.id) this.#card.forget(pack);
      }
      yield* page.packs.filter((pack) => this.#inHand.get(pack.digest) === pack);
    }
  }

  /** Takes note of a pack that was handed out before it came to the card. */
  lend(pack: StoredPack): void {
    this.#inHand.set(pack.digest, pack);
  }

  /** Forgets a pack that was handed out; false when it was not. */
  remove(digest: string): boolean {
    const pack = this.#inHand.get(digest);
    if (pack === undefined) return false;
    this.#inHand.delete(digest);
    this.#card.forget(pack);
    return true;
  }

  /** Packs have appeared among those that were passed. */
  rewind(): void {
    this.#upTo = 0;
  }

  /** Nothing is on its way any more: all is handed out again, from the oldest on. */
  putBack(): void {
    this.#inHand.clear();
    this.rewind();
  }

  /** Drops packs from the oldest on until told to stop; gives how many. */
  drop(isEnough: (id: number) => boolean): number {
    const dropped = this.#card.forgetOldest(isEnough);
    for (const pack of dropped.size > 0 ? this.#inHand.values() : []) {
      if (dropped.has(pack.id)) this.#inHand.delete(pack.digest);
    }
    return dropped.size;
  }

  /** The card's file is a new one: what it lacks of those in hand is put there again. */
  renew(): void {
    if (!this.#card.restore([...this.#inHand.values()])) this.putBack();
  }
}
