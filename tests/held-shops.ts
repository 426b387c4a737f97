/** What a head office holds of some invented shops, in files of a temporary folder: made as the shops themselves make it. */
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { topicsOf } from "../collector/readings.ts";
import { Follow } from "../predictor/follow/follow.ts";
import type { HeldShop, HeldShops, HeldState } from "../predictor/head-office/shops.ts";
import { BookKeeper } from "../predictor/proof/book-keeper.ts";
import { CoatBook } from "../predictor/proof/coat-book.ts";
import { Intake } from "../predictor/readings/intake.ts";
import { ofCollectors } from "../predictor/readings/reading-of.ts";
import { openSqliteStore } from "../predictor/readings/sqlite.ts";
import { inventedSheets } from "../predictor/records/library.ts";
import { program, Records } from "../predictor/records/records.ts";

export interface InventedShop {
  id: string;
  name: string;
  timeZone?: string;
  /** Enters what happened there. */
  fill?: (shop: { records: Records; send: (pack: object[]) => void }) => void;
  /** How its copy stands; all is well and it was just heard, unless something else is said. */
  state?: Partial<HeldState>;
  /** It has told nothing of itself. */
  isUnknown?: boolean;
}

export interface TestedShops extends HeldShops {
  folder: string;
  /** Its files, to see that they stay what they were. */
  files: (shop: string) => string[];
  /** Changes how a copy stands from now on. */
  tell(shop: string, state: Partial<HeldState>): void;
  close(): Promise<void>;
}

const places = {
  booth: {
    name: "Booth",
    kind: "booth",
    sensors: { "air-temperature": "pi/air", "air-humidity": "pi/air" },
  },
  yard: { name: "Yard", kind: "yard", sensors: { "air-temperature": "pi/yard" } },
} as const;

export async function openHeldShops(invented: readonly InventedShop[]): Promise<TestedShops> {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-office-"));
  const book = new CoatBook(join(folder, "coat-book.db"), Date.now());
  const stops: (() => Promise<void> | void)[] = [() => book.close()];
  const shops = new Map<string, HeldShop>();
  const states = new Map<string, HeldState>();
  for (const each of invented) {
    const held = await heldShop(each, folder, book, stops);
    const state = { lastHeardMs: Date.now(), recordsSeq: held.records.head()?.seq ?? 0, fault: null, ...each.state };
    states.set(each.id, state);
    shops.set(each.id, { ...held, state: () => states.get(each.id) ?? state });
  }
  return {
    folder,
    book,
    all: () => [...shops.values()],
    get: (id) => shops.get(id),
    files: (shop) => ["records.db", "readings.db"].map((file) => join(folder, shop, file)),
    tell(shop, state) {
      const before = states.get(shop);
      if (before !== undefined) states.set(shop, { ...before, ...state });
    },
    async close() {
      for (const stop of stops.reverse()) await stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

async function heldShop(
  { id, name, timeZone = "Europe/Berlin", fill, isUnknown = false }: InventedShop,
  folder: string,
  officeBook: CoatBook,
  stops: (() => Promise<void> | void)[],
): Promise<Omit<HeldShop, "state">> {
  const own = join(folder, id);
  mkdirSync(own);
  const now = Date.now;
  const logger = pino({ level: "silent" });
  const records = new Records({ file: join(own, "records.db"), now, clock: () => "synchronised" });
  const store = openSqliteStore(join(own, "readings.db"));
  stops.push(
    () => records.close(),
    () => store.close(),
  );
  if (fill !== undefined) {
    for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
    const intake = new Intake({
      ...ofCollectors,
      store,
      now,
      logger,
      isClockBelieved: () => true,
      onCommitted: () => undefined,
      sendReceipt: () => undefined,
    });
    const send = (pack: object[]) => intake.accept(topicsOf(id).readings("pi"), Buffer.from(JSON.stringify(pack)));
    fill({ records, send });
    await intake.stop();
    await tellFigures({ id, records, store }, officeBook);
  }
  const described = {
    shop: id,
    name,
    invented: true,
    language: "en",
    timeZone,
    units: { temperature: "C", clock: "24h" },
    places,
  } as const;
  return { id, described: isUnknown ? null : described, records, readings: store };
}

/** The rows of the shop's own book, as its keeper makes them. */
async function tellFigures(
  { id, records, store }: { id: string; records: Records; store: ReturnType<typeof openSqliteStore> },
  officeBook: CoatBook,
): Promise<void> {
  const [now, logger] = [Date.now, pino({ level: "silent" })];
  const learning = { off: [], earlierThanSheet: [] };
  const follow = new Follow({ store, records, shopFile: { places, learning }, offsetMs: () => 0, now, logger });
  await follow.start();
  const book = new CoatBook(":memory:", now());
  const keeper = new BookKeeper({ shop: id, book, records, follow, store, places, now, logger });
  keeper.start();
  while (keeper.pending > 0 || book.seenSeq < (records.head()?.seq ?? 0))
    await new Promise((resolve) => setTimeout(resolve, 20));
  await keeper.stop();
  await follow.stop();
  officeBook.take(id, { epoch: book.epoch, after: 0, rows: book.changedAfter(0, 10_000) });
  book.close();
}
