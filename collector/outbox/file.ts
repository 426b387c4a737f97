/** Packs in one SQLite file, in order: the outbox's journal and its card are two of them. */
import type Database from "better-sqlite3";
import type { Logger } from "pino";
import { packDigest } from "../readings.ts";
import { HealingDatabase, type Opened } from "./database.ts";
import type { WaitingPack } from "./outbox.ts";
import type { StoredPack } from "./salvage.ts";
import { DamagedFile, readable } from "./salvage.ts";

export type NewPack = WaitingPack & Pick<StoredPack, "boot">;

export interface PackFileOptions {
  file: string;
  /** FULL: a commit is safe from a power cut. NORMAL: from the end of the process alone, and a power cut damages nothing. */
  synchronous: "FULL" | "NORMAL";
  /** Undated packs of another boot of the machine are lost. */
  bootId: string;
  /** Monotonic milliseconds. */
  nowMs: () => number;
  /** A new file was begun, holding what could be read of a damaged one. */
  renewed: () => void;
  logger: Logger;
}

const schema = `
  CREATE TABLE IF NOT EXISTS packs (
    id INTEGER PRIMARY KEY,
    digest BLOB NOT NULL,
    payload TEXT NOT NULL,
    boot TEXT
  ) STRICT;
  CREATE INDEX IF NOT EXISTS held ON packs (id) WHERE boot IS NOT NULL;
`;
const measures = "id, octet_length(payload) AS bytes, boot";
const columns = "id, lower(hex(digest)) AS digest, payload, boot";
/** Bytes of a row beside its payload: 40 to 46 were measured with payloads of 230 to 250 bytes. */
const rowBytes = 45;
/** A file that holds nothing is shrunk when it has more pages (of 4 KiB) than this. */
const emptyPages = 512;

const removalsPerCommit = 5_000;

interface Row {
  id: number;
  bytes: number;
  boot: string | null;
}

function statementsOf(database: Database.Database) {
  return {
    insert: database.prepare<[number, string, string, string | null]>(
      "INSERT OR IGNORE INTO packs (id, digest, payload, boot) VALUES (?, unhex(?), ?, ?)",
    ),
    update: database.prepare<[string, string, number]>(
      "UPDATE packs SET digest = unhex(?), payload = ?, boot = NULL WHERE id = ?",
    ),
    remove: database.prepare<[number]>("DELETE FROM packs WHERE id = ?"),
    page: database.prepare<[number, number], StoredPack>(
      `SELECT ${columns} FROM packs WHERE id > ? AND boot IS NULL ORDER BY id LIMIT ?`,
    ),
    held: database.prepare<[number], StoredPack>(
      `SELECT ${columns} FROM packs INDEXED BY held WHERE boot IS NOT NULL ORDER BY id LIMIT ?`,
    ),
    newest: database.prepare<[number], string>("SELECT lower(hex(digest)) FROM packs ORDER BY id DESC LIMIT ?").pluck(),
    rows: database.prepare<[], Row>(`SELECT ${measures} FROM packs ORDER BY id`),
    row: database.prepare<[number], Row>(`SELECT ${measures} FROM packs WHERE id = ?`),
    undatable: database
      .prepare<[string], number>("SELECT id FROM packs INDEXED BY held WHERE boot IS NOT NULL AND boot <> ?")
      .pluck(),
    sums: database.prepare<[], { packs: number; heldPacks: number; payloadBytes: number; lastId: number }>(
      `SELECT count(*) AS packs, count(boot) AS heldPacks, total(octet_length(payload)) AS payloadBytes,
              coalesce(max(id), 0) AS lastId FROM packs`,
    ),
  };
}
type Statements = ReturnType<typeof statementsOf>;

export class PackFile {
  readonly #options: PackFileOptions;
  readonly #database: HealingDatabase<Statements>;
  /** Rows that are to be deleted with the next commit. */
  readonly #forgotten = new Set<number>();
  #packs = 0;
  #heldPacks = 0;
  #bytes = 0;
  #lastId = 0;
  #undatable = 0;

  /** Never throws for a file that cannot be used, which is tried again, but for one that another process uses. */
  constructor(options: PackFileOptions) {
    this.#options = options;
    this.#database = new HealingDatabase({
      ...options,
      opened: (database) => {
        database.exec(schema);
        const statements = statementsOf(database);
        this.#scan(statements);
        return statements;
      },
      carryOver: (aside, { sql }) => {
        let carried = 0;
        for (const { id, digest, payload, boot } of readable(aside)) {
          if (!this.#forgotten.has(id)) carried += sql.insert.run(id, digest, payload, boot).changes;
        }
        return carried;
      },
      isNeeded: () => this.#packs > 0,
      renewed: () => {
        this.#forgotten.clear();
        options.renewed();
      },
    });
    this.#database.open();
  }

  get packs(): number {
    return this.#packs;
  }

  get heldPacks(): number {
    return this.#heldPacks;
  }

  get bytes(): number {
    return this.#bytes;
  }

  /** The newest row's; ids only rise. */
  get lastId(): number {
    return this.#lastId;
  }

  /** Undated packs of other boots that were found and forgotten. */
  get undatablePacks(): number {
    return this.#undatable;
  }

  get fault(): string | null {
    return this.#database.fault;
  }

  get damage(): string | null {
    return this.#database.damage;
  }

  /** See HealingDatabase. */
  get isTired(): boolean {
    return this.#database.isTired;
  }

  /** Commits packs, in order, and what was forgotten; gives their ids, or undefined when the file cannot take them now. */
  put(packs: readonly NewPack[]): number[] | undefined {
    return this.#database.write((opened) => {
      const stored = packs.map((pack, index) => ({ ...pack, id: this.#lastId + 1 + index }));
      this.#commit(opened, stored);
      this.#lastId += packs.length;
      return stored.map(({ id }) => id);
    });
  }

  /** Puts packs back under their ids where they are missing; false when the file cannot take them now. */
  restore(packs: readonly StoredPack[]): boolean {
    const isDone = this.#database.read((opened) => {
      this.#commit(opened, packs);
      return true;
    });
    return isDone ?? false;
  }

  /** Commits packs that were held and are dated now, in their places; false when the file cannot take them now. */
  replace(packs: readonly StoredPack[]): boolean {
    const isDone = this.#database.write(({ database, sql }) => {
      database.transaction(() => {
        for (const { id, digest, payload } of packs) sql.update.run(digest, payload, id);
      })();
      this.#heldPacks -= packs.length;
      return true;
    });
    return isDone ?? false;
  }

  /** The row goes with the next commit. To be called once for a pack that is here. */
  forget({ id, payload, boot }: StoredPack): void {
    this.#forgotten.add(id);
    this.#tally(Buffer.byteLength(payload), boot, -1);
  }

  /** Forgets rows from the oldest on until told to stop; gives the ids of those forgotten. */
  forgetOldest(isEnough: (id: number) => boolean): Set<number> {
    const ids = new Set<number>();
    this.#database.read(({ sql }) => {
      for (const { id, bytes, boot } of sql.rows.iterate()) {
        if (this.#forgotten.has(id)) continue;
        if (isEnough(id)) break;
        ids.add(id);
        this.#forgotten.add(id);
        this.#tally(bytes, boot, -1);
      }
    });
    return ids;
  }

  /** Dated packs after an id, and the id up to which that is all; undefined when the file cannot be read now. */
  page(afterId: number, count: number): { packs: StoredPack[]; upTo: number } | undefined {
    return this.#database.read(({ sql }) => {
      const rows = sound(sql.page.all(afterId, count));
      const upTo = rows.length < count ? this.#lastId : (rows.at(-1)?.id ?? this.#lastId);
      return { packs: rows.filter(({ id }) => !this.#forgotten.has(id)), upTo };
    });
  }

  /** The oldest undated packs of this boot. */
  held(count: number): StoredPack[] {
    if (this.#heldPacks === 0) return [];
    const rows = this.#database.read(({ sql }) => sound(sql.held.all(count + this.#forgotten.size)));
    return (rows ?? []).filter(({ id }) => !this.#forgotten.has(id)).slice(0, count);
  }

  /** The digests of the newest rows. */
  newest(count: number): string[] {
    return this.#database.read(({ sql }) => sql.newest.all(count)) ?? [];
  }

  /** Finds out whether the file can be written. */
  probe(): void {
    this.#database.write(({ database }) => database.pragma("user_version = 1"));
  }

  /** Commits what was forgotten, gives back the room of an emptied file, sees whether a fault is gone. */
  tidy(): void {
    while (this.#forgotten.size > 0 && this.put([]) !== undefined);
    if (this.fault !== null) this.probe();
    if (this.#packs > 0) return;
    this.#database.read(({ database }) => {
      if (Number(database.pragma("page_count", { simple: true })) > emptyPages) database.exec("VACUUM");
    });
  }

  close(): void {
    this.#database.close();
  }

  #commit({ database, sql }: Opened<Statements>, packs: readonly StoredPack[]): void {
    const gone = firstOf(this.#forgotten, removalsPerCommit);
    const isNew = database.transaction(() => {
      for (const id of gone) sql.remove.run(id);
      return packs.map(({ id, digest, payload, boot }) => sql.insert.run(id, digest, payload, boot).changes === 1);
    })();
    for (const id of gone) this.#forgotten.delete(id);
    for (const [index, { payload, boot }] of packs.entries()) {
      if (isNew[index]) this.#tally(Buffer.byteLength(payload), boot, 1);
    }
  }

  #tally(payloadBytes: number, boot: string | null, sign: 1 | -1): void {
    this.#packs += sign;
    this.#bytes += sign * (payloadBytes + rowBytes);
    if (boot !== null) this.#heldPacks += sign;
  }

  /** Counts what is in the file; reads all of its pages, so that most damage shows. */
  #scan(sql: Statements): void {
    const { bootId, logger, file } = this.#options;
    const sums = sql.sums.get();
    this.#packs = sums?.packs ?? 0;
    this.#heldPacks = sums?.heldPacks ?? 0;
    this.#bytes = (sums?.payloadBytes ?? 0) + rowBytes * this.#packs;
    this.#lastId = Math.max(this.#lastId, sums?.lastId ?? 0);
    const undatable = sql.undatable.all(bootId).filter((id) => !this.#forgotten.has(id));
    for (const id of undatable) this.#forgotten.add(id);
    for (const id of this.#forgotten) {
      const row = sql.row.get(id);
      if (row !== undefined) this.#tally(row.bytes, row.boot, -1);
    }
    if (undatable.length === 0) return;
    this.#undatable += undatable.length;
    logger.error(
      { file, packs: undatable.length },
      "packs of before this machine's restart are lost: they waited for a clock, and their instants cannot be known now",
    );
  }
}

function firstOf(ids: Iterable<number>, count: number): number[] {
  const taken: number[] = [];
  for (const id of ids) {
    if (taken.length >= count) break;
    taken.push(id);
  }
  return taken;
}

/** Throws where a pack is not what was written. */
function sound(packs: StoredPack[]): StoredPack[] {
  const torn = packs.find(({ payload, digest }) => packDigest(Buffer.from(payload)) !== digest);
  if (torn !== undefined) throw new DamagedFile(`pack ${torn.id} is not what was written`);
  return packs;
}
