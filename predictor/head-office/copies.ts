/** What a head office holds of each shop: the copy of its log, what it told of itself, what went wrong. And the book of all their coats. */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { recordsFileName } from "../data-folder.ts";
import {
  type BookMessage,
  type Have,
  type RecordsMessage,
  type ShopDescription,
  shopDescriptionSchema,
} from "../onward/messages.ts";
import type { CoatBook } from "../proof/coat-book.ts";
import type { ReadingSource } from "../readings/store.ts";
import { noHash } from "../records/log.ts";
import { Records } from "../records/records.ts";
import type { HeldShop, HeldShops, HeldState } from "./shops.ts";
import { type ShopStores, shopFolder } from "./stores.ts";

export interface CopiesParts {
  shops: readonly string[];
  dataFolder: string;
  stores: Pick<ShopStores, "sourceOf">;
  book: CoatBook;
  now: () => number;
}

export class Copies implements HeldShops {
  readonly book: CoatBook;
  readonly #copies: ReadonlyMap<string, Copy>;

  constructor({ shops, ...parts }: CopiesParts) {
    this.book = parts.book;
    this.#copies = new Map(shops.map((id) => [id, new Copy(id, parts)]));
  }

  all(): Copy[] {
    return [...this.#copies.values()];
  }

  get(id: string): Copy | undefined {
    return this.#copies.get(id);
  }

  close(): void {
    for (const copy of this.all()) copy.close();
  }
}

const descriptionFileName = "shop.json";
/** What was found wrong, kept beside the log that it is about: who has looked into it moves both aside. */
const faultFileName = "fault.txt";

export class Copy implements HeldShop {
  readonly id: string;
  readonly #parts: Omit<CopiesParts, "shops">;
  readonly #folder: string;
  #records: Records | null = null;
  #readings: ReadingSource | null = null;
  #described: ShopDescription | null;
  #lastHeardMs: number | null = null;
  #fault: string | null;
  /** What only this version can't read: gone once it can. */
  #unread: string | null = null;

  constructor(id: string, parts: Omit<CopiesParts, "shops">) {
    this.id = id;
    this.#parts = parts;
    this.#folder = shopFolder(parts.dataFolder, id);
    this.#described = readDescription(join(this.#folder, descriptionFileName));
    this.#fault = textIn(join(this.#folder, faultFileName));
  }

  get described(): ShopDescription | null {
    return this.#described;
  }

  /** Opened when it is first wanted: a group has many shops, and few are looked at. */
  get records(): Records {
    const { now } = this.#parts;
    const file = join(this.#folder, recordsFileName);
    this.#records ??= new Records({ file, now, clock: () => "unknown" });
    return this.#records;
  }

  get readings(): ReadingSource {
    this.#readings ??= this.#parts.stores.sourceOf(this.id);
    return this.#readings;
  }

  state(): HeldState {
    return {
      lastHeardMs: this.#lastHeardMs,
      recordsSeq: this.records.head()?.seq ?? 0,
      fault: this.#fault ?? this.#unread,
    };
  }

  have(): Have {
    const { seq, hash } = this.records.head() ?? { seq: 0, hash: noHash };
    return { records: { seq, hash }, book: this.#parts.book.heldOf(this.id), fault: this.#fault ?? this.#unread };
  }

  heard(): void {
    this.#lastHeardMs = this.#parts.now();
  }

  /** Takes what follows on what is held, and nothing else. Throws where the disk can't take it. */
  takeRecords({ entries }: RecordsMessage): void {
    const reception = this.records.receive(entries);
    this.#unread = reception.kind === "unknown" ? `${reception.fault}: is this head office of an older version?` : null;
    if (reception.kind !== "broken" || this.#fault !== null) return;
    this.#fault = `${new Date(this.#parts.now()).toISOString()}: ${reception.fault}`;
    writeFileSync(join(this.#folder, faultFileName), `${this.#fault}\n`);
  }

  takeBook(message: BookMessage): void {
    this.#parts.book.take(this.id, message);
  }

  takeDescription(description: ShopDescription): void {
    this.#described = description;
    writeFileSync(join(this.#folder, descriptionFileName), JSON.stringify(description));
  }

  close(): void {
    this.#records?.close();
  }
}

function textIn(file: string): string | null {
  return existsSync(file) ? readFileSync(file, "utf8").trim() : null;
}

function readDescription(file: string): ShopDescription | null {
  try {
    return shopDescriptionSchema.parse(JSON.parse(readFileSync(file, "utf8")));
  } catch {
    // It is told again at each connection.
    return null;
  }
}
