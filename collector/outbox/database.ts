/** A SQLite file of one process that goes on through full, read-only and slow cards, and sets itself aside when damaged. */
import { mkdirSync } from "node:fs";
import { dirname } from "node:path";
import Database from "better-sqlite3";
import type { Logger } from "pino";
import { codeOf, discard, faultOf, isDamage, isFull, isInUse, refuseHollow, setAside } from "./salvage.ts";

export interface Opened<Statements> {
  database: Database.Database;
  sql: Statements;
}

export interface HealingDatabaseOptions<Statements> {
  file: string;
  synchronous: "FULL" | "NORMAL";
  /** Monotonic milliseconds. */
  nowMs: () => number;
  logger: Logger;
  /** Makes tables and statements, after each opening. */
  opened: (database: Database.Database) => Statements;
  /** Puts what can be read of a damaged file into the new one; gives how many rows. */
  carryOver: (aside: string, into: Opened<Statements>) => number;
  /** Whether the file holds anything that is still needed. */
  isNeeded: () => boolean;
  /** The file that was in use is a new one now. */
  renewed: () => void;
}

/** After an error the file is left alone for this long. */
const restMs = 4_000;
/** A write that takes longer than this is a fault; after each, the file is tired for ten times as long as it took. */
const slowMs = 2_000;
const restPerWork = 10;
const walBytes = 4 * 1024 * 1024;

export class HealingDatabase<Statements> {
  readonly #options: HealingDatabaseOptions<Statements>;
  #opened: Opened<Statements> | undefined;
  #fault: string | null = null;
  #damage: string | null = null;
  #isInUse = false;
  #tiredUntilMs = Number.NEGATIVE_INFINITY;
  #isClosed = false;
  #restsUntilMs = Number.NEGATIVE_INFINITY;

  constructor(options: HealingDatabaseOptions<Statements>) {
    this.#options = options;
  }

  /** What keeps it from being written, in words. */
  get fault(): string | null {
    return this.#fault;
  }

  /** What became of the last damaged file since the start, in words. */
  get damage(): string | null {
    return this.#damage;
  }

  /** Writes that can wait should: they stop all else in this process, and must not fill more than a part of its time. */
  get isTired(): boolean {
    return this.#options.nowMs() < this.#tiredUntilMs;
  }

  /** Throws where another process has the file; any other fault is told, and the file tried again. */
  open(): void {
    this.read(() => undefined);
    if (this.#opened !== undefined || !this.#isInUse) return;
    const remedy = "stop that one, or give this one another name";
    throw new Error(`${this.#options.file} is in use by another collector of the same name: ${remedy}`);
  }

  /** Undefined when the file cannot be written now; no half of the work is done then, if it is one transaction. */
  write<T>(work: (opened: Opened<Statements>) => T): T | undefined {
    const { file, nowMs } = this.#options;
    if (this.#isResting) return undefined;
    return this.read((opened) => {
      const startMs = nowMs();
      const result = work(opened);
      const tookMs = nowMs() - startMs;
      this.#tiredUntilMs = nowMs() + restPerWork * tookMs;
      this.#tell(tookMs > slowMs ? `${file} takes seconds to write: the card is overloaded or worn out` : null);
      return result;
    });
  }

  /** Works on the file, which is opened or mended before where it must be; undefined when that cannot be now. */
  read<T>(work: (opened: Opened<Statements>) => T): T | undefined {
    if (this.#opened === undefined && this.#isResting) return undefined;
    try {
      try {
        this.#opened ??= this.#open();
        return work(this.#opened);
      } catch (error) {
        return work(this.#mended(error));
      }
    } catch (error) {
      if (!isDamage(error) && codeOf(error) === null) throw error;
      this.#isInUse = isInUse(error);
      // A full disk leaves the file as it was; after other errors it is opened anew.
      if (!isFull(error)) this.#release();
      this.#restsUntilMs = this.#options.nowMs() + restMs;
      this.#tell(faultOf(this.#options.file, error));
      return undefined;
    }
  }

  /** For good. */
  close(): void {
    this.#release();
    this.#isClosed = true;
  }

  get #isResting(): boolean {
    return this.#isClosed || this.#options.nowMs() < this.#restsUntilMs;
  }

  #open(): Opened<Statements> {
    const { file, synchronous, opened } = this.#options;
    mkdirSync(dirname(file), { recursive: true });
    refuseHollow(file);
    const database = new Database(file, { timeout: 0 });
    try {
      // Exclusive: no second process, and no shared-memory file; the lock ends with the process.
      database.pragma("locking_mode = EXCLUSIVE");
      database.pragma("journal_mode = WAL");
      database.pragma(`synchronous = ${synchronous}`);
      database.pragma(`journal_size_limit = ${walBytes}`);
      // 2 MB in memory of each file.
      database.pragma("cache_size = -2000");
      return { database, sql: opened(database) };
    } catch (error) {
      database.close();
      throw error;
    }
  }

  /** The file as it can be used after an error; throws the error where nothing can be done about it. */
  #mended(error: unknown): Opened<Statements> {
    const { file, isNeeded, renewed } = this.#options;
    const wasOpen = this.#opened !== undefined;
    // A file that cannot even grow to forget its last rows is not needed.
    const isSpent = isFull(error) && wasOpen && !isNeeded();
    if (!isDamage(error) && !isSpent) throw error;
    this.#release();
    if (isSpent) discard(file);
    const aside = isSpent ? null : setAside(file);
    const opened = this.#open();
    if (aside !== null) this.#carryOver(aside, opened, error);
    this.#opened = opened;
    if (wasOpen) renewed();
    return opened;
  }

  #carryOver(aside: string, into: Opened<Statements>, error: unknown): void {
    const { file, carryOver, logger, opened } = this.#options;
    let rows = 0;
    try {
      rows = into.database.transaction(() => carryOver(aside, into))();
    } catch (fault) {
      logger.error({ error: String(fault), aside }, "what can be read of the damaged file could not be carried over");
    }
    into.sql = opened(into.database);
    this.#damage = `${file} was damaged; it is kept as ${aside}, and the ${rows} packs that could be read are carried over`;
    logger.error({ error: String(error) }, this.#damage);
  }

  #release(): void {
    try {
      this.#opened?.database.close();
    } catch {
      // Its last checkpoint failed, on a file that is given up or opened anew.
    }
    this.#opened = undefined;
  }

  #tell(fault: string | null): void {
    const { logger, file } = this.#options;
    if (fault !== null && fault !== this.#fault) logger.error(fault);
    if (fault === null && this.#fault !== null) logger.warn({ file }, "packs can be kept there again");
    this.#fault = fault;
  }
}
