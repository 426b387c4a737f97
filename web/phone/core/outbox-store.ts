/** Where entries wait on the phone: IndexedDB, or the page's memory where the browser keeps nothing. */
import { type DBSchema, type IDBPDatabase, openDB } from "idb";

/** An entry that is not in the records yet, as far as the phone knows. */
export interface Waiting {
  /** In the order of entering. */
  seq: number;
  /** The Idempotency-Key it is always sent with, so that it is recorded once. */
  key: string;
  method: "POST" | "PATCH";
  path: string;
  body: object;
  label: string;
  /** What it is about; entries about the same stay in order: "cars/<id>". */
  about: string;
  /** Who entered it; null when nobody was signed in: then it is whose who signs in next. */
  who: string | null;
  /** By the server's clock, UTC ms. */
  madeAtMs: number;
  /** The page it was entered on. */
  page: string;
  state: "waiting" | "refused";
  /** Why it was refused. */
  detail: string | null;
}

export interface OutboxStore {
  /** False where everything is lost with the page. */
  readonly lasts: boolean;
  /** In the order of entering. */
  all(): Promise<Waiting[]>;
  /** Resolves when it is kept. */
  add(entry: Omit<Waiting, "seq">): Promise<void>;
  /** Does nothing when it is not there any more. */
  change(entry: Waiting): Promise<void>;
  remove(key: string): Promise<void>;
  /** One sender at a time among the tabs: true when it is this owner for `ms` from now on. */
  lease(owner: string, nowMs: number, ms: number): Promise<boolean>;
  release(owner: string): Promise<void>;
  /** Values by name, for a page that is opened without a network. */
  keep(name: string, value: unknown): Promise<void>;
  kept(name: string): Promise<unknown>;
  close(): void;
}

interface Lease {
  owner: string;
  untilMs: number;
}

interface Schema extends DBSchema {
  entries: { key: number; value: Omit<Waiting, "seq"> & { seq?: number }; indexes: { key: string } };
  values: { key: string; value: unknown };
}

const leaseName = "sender";

/** A lease that lasts longer than leases do was given by a clock that was set back since. */
function isFree(lease: Lease | undefined, owner: string, nowMs: number, ms: number): boolean {
  return lease === undefined || lease.owner === owner || !(lease.untilMs > nowMs && lease.untilMs <= nowMs + ms);
}

/** The phone's own; memory where there is no IndexedDB, as in some private windows. */
export async function openOutboxStore(name = "coatclock"): Promise<OutboxStore> {
  try {
    return databaseStore(await openDatabase(name));
  } catch {
    return memoryStore();
  }
}

function openDatabase(name: string): Promise<IDBPDatabase<Schema>> {
  return openDB<Schema>(name, 1, {
    upgrade(db) {
      db.createObjectStore("entries", { keyPath: "seq", autoIncrement: true }).createIndex("key", "key", {
        unique: true,
      });
      db.createObjectStore("values");
    },
    // A newer page in another tab may change the database.
    blocking: (_current, _blocked, event) => (event.target as IDBDatabase).close(),
  });
}

function databaseStore(db: IDBPDatabase<Schema>): OutboxStore {
  return {
    lasts: true,
    all: async () => (await db.getAll("entries")) as Waiting[],
    async add(entry) {
      const adding = db.transaction("entries", "readwrite", { durability: "strict" });
      await Promise.all([adding.store.add(entry), adding.done]);
    },
    async change(entry) {
      const changing = db.transaction("entries", "readwrite", { durability: "strict" });
      const isThere = (await changing.store.count(entry.seq)) > 0;
      if (isThere) await changing.store.put(entry);
      await changing.done;
    },
    async remove(key) {
      const removing = db.transaction("entries", "readwrite", { durability: "strict" });
      const seq = await removing.store.index("key").getKey(key);
      if (seq !== undefined) await removing.store.delete(seq);
      await removing.done;
    },
    async lease(owner, nowMs, ms) {
      const leasing = db.transaction("values", "readwrite");
      const found = (await leasing.store.get(leaseName)) as Lease | undefined;
      const free = isFree(found, owner, nowMs, ms);
      if (free) await leasing.store.put({ owner, untilMs: nowMs + ms } satisfies Lease, leaseName);
      await leasing.done;
      return free;
    },
    async release(owner) {
      const releasing = db.transaction("values", "readwrite");
      const found = (await releasing.store.get(leaseName)) as Lease | undefined;
      if (found?.owner === owner) await releasing.store.delete(leaseName);
      await releasing.done;
    },
    async keep(name, value) {
      await db.put("values", value, `kept.${name}`);
    },
    kept: (name) => db.get("values", `kept.${name}`),
    close: () => db.close(),
  };
}

/** Lasts as long as the page. It knows nothing of other tabs, and needs not: they share nothing of it. */
export function memoryStore(): OutboxStore {
  const entries = new Map<string, Waiting>();
  const values = new Map<string, unknown>();
  let seq = 0;
  return {
    lasts: false,
    all: async () => [...entries.values()],
    add: async (entry) => {
      seq += 1;
      entries.set(entry.key, { ...entry, seq });
    },
    change: async (entry) => {
      if (entries.has(entry.key)) entries.set(entry.key, entry);
    },
    remove: async (key) => void entries.delete(key),
    lease: async () => true,
    release: async () => undefined,
    keep: async (name, value) => void values.set(name, value),
    kept: async (name) => values.get(name),
    close: () => undefined,
  };
}
