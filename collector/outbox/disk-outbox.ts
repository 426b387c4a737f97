/**
 * The outbox on disk, in three places. A pack is added to memory and to the journal, a file in a RAM-backed folder: the end
 * of the process loses nothing. What still waits some seconds later is moved to the card in one commit, in order, and every
 * later change there is grouped too: with a broker and a predictor at work the card is never written. A pack of the card is
 * backlog; what is in hand of it are the packs that were handed out last.
 */
import { join } from "node:path";
import type { Logger } from "pino";
import { packDigest, type SenmlRecord } from "../readings.ts";
import { CardBacklog } from "./card.ts";
import { datedPack } from "./dating.ts";
import { AgeMarks, DropEpisodes } from "./drops.ts";
import { PackFile } from "./file.ts";
import { inWords, type Outbox, type Urgency, type WaitingPack } from "./outbox.ts";
import { type RecentPack, RecentPacks } from "./recent.ts";

export interface DiskOutboxOptions {
  /** The collector's name; one process at a time may use an outbox of it. */
  collector: string;
  /** Where packs are kept through a power cut. */
  cardFolder: string;
  /** Where packs are kept through the end of the process, RAM-backed where there is such a folder. */
  runFolder: string;
  /** Tells one boot of the machine from another. */
  bootId: string;
  /** Monotonic milliseconds. */
  nowMs: () => number;
  logger: Logger;
  /** On the card, by the packs' own bytes. */
  capacityBytes?: number;
  /** In memory, and in the journal, while the card cannot be written. */
  memoryBytes?: number;
  /** Packs that wait longer are dropped; counted while this process runs. */
  maxAgeMs?: number;
}

const tickMs = 5_000;
/** Packs that go to the card in one commit, and that are dated in one call. */
const packsPerMove = 5_000;
const packsPerDating = 2_000;

export class DiskOutbox implements Outbox {
  readonly #bootId: string;
  readonly #capacityBytes: number;
  readonly #memoryBytes: number;
  readonly #logger: Logger;
  readonly #recent = new RecentPacks();
  readonly #journal: PackFile;
  readonly #card: PackFile;
  readonly #cardBacklog: CardBacklog;
  readonly #drops: DropEpisodes;
  readonly #ages: AgeMarks;
  readonly #timer: NodeJS.Timeout;
  /** Recent packs that were handed out over this connection. */
  #handedOut = new WeakSet<RecentPack>();
  #newestOrder = 0;
  /** The newest of the last tick: what is older has waited long enough. */
  #ripeOrder = 0;
  /** What an earlier process left in the journal is in memory. */
  #isJournalTakenUp = false;
  /** Some packs of memory are not in the journal. */
  #journalLags = false;

  /** Throws where another process uses the outbox of this collector, or a limit is not positive. A card that cannot be written is no reason to throw. */
  constructor(options: DiskOutboxOptions) {
    const { collector, cardFolder, runFolder, bootId, nowMs, logger } = options;
    const { capacityBytes = 512 * 1024 * 1024, memoryBytes = 64 * 1024 * 1024, maxAgeMs = 14 * 86_400_000 } = options;
    for (const [name, value] of Object.entries({ capacityBytes, memoryBytes, maxAgeMs })) {
      if (!(value > 0)) throw new RangeError(`an outbox needs a positive ${name}, not ${value}`);
    }
    this.#bootId = bootId;
    this.#capacityBytes = capacityBytes;
    this.#memoryBytes = memoryBytes;
    this.#logger = logger;
    const common = { bootId, nowMs, logger };
    this.#card = new PackFile({
      ...common,
      file: join(cardFolder, `outbox-${collector}.db`),
      synchronous: "FULL",
      renewed: () => this.#cardBacklog.renew(),
    });
    this.#journal = new PackFile({
      ...common,
      file: join(runFolder, `outbox-${collector}.journal.db`),
      synchronous: "NORMAL",
      renewed: () => this.#takeNewJournal(),
    });
    this.#cardBacklog = new CardBacklog(this.#card);
    this.#drops = new DropEpisodes(nowMs, logger);
    this.#ages = new AgeMarks(nowMs, maxAgeMs);
    this.#card.probe();
    this.#takeUpJournal();
    this.#timer = setInterval(() => this.#tick(), tickMs).unref();
  }

  get packs(): number {
    return this.#recent.packs + this.#card.packs;
  }

  get undatedPacks(): number {
    return this.#recent.heldPacks + this.#card.heldPacks;
  }

  get droppedPacks(): number {
    return this.#drops.packs;
  }

  get undatablePacks(): number {
    return this.#card.undatablePacks + this.#journal.undatablePacks;
  }

  get fault(): string | null {
    return inWords(this.#card.fault, this.#journal.fault);
  }

  get damage(): string | null {
    return inWords(this.#card.damage, this.#journal.damage);
  }

  add(payload: string, urgency: Urgency): void {
    this.#take(payload, null, urgency);
  }

  hold(pack: readonly SenmlRecord[]): void {
    this.#take(JSON.stringify(pack), this.#bootId, "backlog");
  }

  remove(digest: string): boolean {
    const recent = this.#recent.take(digest);
    if (recent === undefined) return this.#cardBacklog.remove(digest);
    this.#forgetInJournal(recent);
    return true;
  }

  *waiting(urgency: Urgency): Iterable<WaitingPack> {
    if (urgency === "backlog") yield* this.#cardBacklog.waiting();
    for (const pack of this.#recent.waiting(urgency)) {
      this.#handedOut.add(pack);
      yield pack;
    }
  }

  demoteLive(): void {
    this.#recent.demote(Number.POSITIVE_INFINITY);
    this.#handedOut = new WeakSet();
    this.#cardBacklog.putBack();
  }

  date(dated: (monotonicS: number) => number): void {
    const stored = this.#card.held(packsPerDating).flatMap((pack) => datedPack(pack, dated));
    if (stored.length > 0 && this.#card.replace(stored)) this.#cardBacklog.rewind();
    // Those in memory are younger.
    if (this.#card.heldPacks === 0 || this.#card.fault !== null) this.#dateRecent(dated);
  }

  close(): void {
    clearInterval(this.#timer);
    this.#recent.demote(Number.POSITIVE_INFINITY);
    while (this.#moveToCard(Number.POSITIVE_INFINITY));
    this.#card.tidy();
    this.#catchUpJournal();
    this.#journal.tidy();
    this.#drops.end();
    this.#card.close();
    this.#journal.close();
    if (this.#recent.packs > 0) {
      this.#logger.error({ packs: this.#recent.packs }, `packs could not be written to the card: ${this.fault}`);
    }
  }

  #take(payload: string, boot: string | null, urgency: Urgency): void {
    const digest = packDigest(Buffer.from(payload));
    if (this.#recent.has(digest) || this.#cardBacklog.has(digest)) return;
    this.#newestOrder += 1;
    const pack = { digest, payload, boot, order: this.#newestOrder, journalId: undefined as number | undefined };
    pack.journalId = this.#isJournalTakenUp ? this.#journal.put([pack])?.[0] : undefined;
    this.#journalLags ||= pack.journalId === undefined;
    this.#recent.add([pack], urgency);
    this.#boundMemory();
  }

  #tick(): void {
    this.#recent.demote(this.#ripeOrder);
    if (!this.#card.isTired) {
      this.#moveToCard(this.#ripeOrder);
      this.#card.tidy();
    }
    this.#dropTooOld();
    if (!this.#isJournalTakenUp) this.#takeUpJournal();
    this.#catchUpJournal();
    this.#journal.tidy();
    this.#drops.look();
    this.#ripeOrder = this.#newestOrder;
  }

  /** Moves the oldest packs that are not live; false when none were left or the card cannot take them now. */
  #moveToCard(upTo: number): boolean {
    const packs = this.#recent.oldest(packsPerMove, upTo);
    const ids = packs.length > 0 ? this.#card.put(packs) : undefined;
    if (ids === undefined) return false;
    for (const [index, pack] of packs.entries()) {
      const { digest, payload, boot } = pack;
      if (this.#handedOut.has(pack)) this.#cardBacklog.lend({ id: ids[index] ?? 0, digest, payload, boot });
      this.#recent.delete(pack);
      this.#forgetInJournal(pack);
    }
    // At once, so that no undated copy is left there of what may be dated on the card.
    this.#journal.tidy();
    const hasRoom = () => this.#card.bytes <= this.#capacityBytes || this.#card.packs <= 1;
    if (!hasRoom()) this.#drops.add(this.#cardBacklog.drop(hasRoom), "full");
    return true;
  }

  #dateRecent(dated: (monotonicS: number) => number): void {
    const held = [...this.#recent.held()].slice(0, packsPerDating);
    const pairs = held.flatMap((pack) => datedPack(pack, dated).map((now) => ({ pack, now })));
    if (pairs.length === 0) return;
    const rows = pairs.flatMap(({ pack, now }) =>
      pack.journalId === undefined ? [] : [{ ...now, id: pack.journalId }],
    );
    const isJournaled = this.#journal.replace(rows);
    for (const { pack } of pairs) {
      if (!isJournaled) this.#forgetInJournal(pack);
      this.#recent.delete(pack);
    }
    this.#recent.add(
      pairs.map(({ pack, now }) => ({ ...now, journalId: isJournaled ? pack.journalId : undefined })),
      "backlog",
    );
    this.#journalLags ||= !isJournaled;
  }

  #boundMemory(): void {
    if (this.#recent.bytes <= this.#memoryBytes) return;
    while (this.#card.fault === null && this.#moveToCard(Number.POSITIVE_INFINITY));
    while (this.#recent.bytes > this.#memoryBytes && this.#recent.packs > 1) {
      const pack = this.#recent.takeOldest();
      if (pack === undefined) return;
      this.#forgetInJournal(pack);
      this.#drops.add(1, "full");
    }
  }

  #dropTooOld(): void {
    const mark = this.#ages.look({ order: this.#newestOrder, cardId: this.#card.lastId });
    if (mark === undefined) return;
    const packs = this.#recent.oldest(Number.POSITIVE_INFINITY, mark.order);
    for (const pack of packs) {
      this.#recent.delete(pack);
      this.#forgetInJournal(pack);
    }
    this.#drops.add(packs.length + this.#cardBacklog.drop((id) => id > mark.cardId), "too old");
  }

  /** What an earlier process left there, but for what it had moved to the card and could not delete any more. */
  #takeUpJournal(): void {
    const count = this.#journal.packs;
    const dated = this.#journal.page(0, count);
    if (dated === undefined) return;
    this.#isJournalTakenUp = true;
    const moved = new Set(this.#card.newest(count));
    const left = [...dated.packs, ...this.#journal.held(count)].sort((a, b) => a.id - b.id);
    for (const pack of left.filter(({ digest }) => moved.has(digest) || this.#recent.has(digest))) {
      this.#journal.forget(pack);
    }
    const packs = left
      .filter(({ digest }) => !moved.has(digest) && !this.#recent.has(digest))
      .map(({ id, digest, payload, boot }, index) => {
        return { digest, payload, boot, journalId: id, order: this.#newestOrder + 1 + index };
      });
    this.#newestOrder += packs.length;
    this.#recent.add(packs, "backlog");
    this.#boundMemory();
  }

  #catchUpJournal(): void {
    if (!this.#journalLags || !this.#isJournalTakenUp) return;
    const missing = [...this.#recent.all()].filter(({ journalId }) => journalId === undefined);
    const packs = missing.sort((a, b) => a.order - b.order).slice(0, packsPerMove);
    this.#journalLags = packs.length < missing.length;
    const ids = this.#journal.put(packs);
    for (const [index, pack] of packs.entries()) pack.journalId = ids?.[index];
    this.#journalLags ||= ids === undefined;
  }

  #forgetInJournal({ journalId, digest, payload, boot }: RecentPack): void {
    if (journalId !== undefined) this.#journal.forget({ id: journalId, digest, payload, boot });
  }

  /** The journal holds what memory holds, so its damage costs nothing. */
  #takeNewJournal(): void {
    this.#journal.forgetOldest(() => false);
    for (const pack of this.#recent.all()) pack.journalId = undefined;
    this.#journalLags = true;
  }
}
