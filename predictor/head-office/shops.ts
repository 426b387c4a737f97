/** What a head office holds of its shops, to be read; nothing here can be written. */
import type { ShopDescription } from "../onward/messages.ts";
import type { CoatBook } from "../proof/coat-book.ts";
import type { ReadingSource } from "../readings/store.ts";
import type { Records } from "../records/records.ts";

export interface HeldState {
  /** When anything last came from the shop; null where nothing has since the start. */
  lastHeardMs: number | null;
  /** The last entry of its log that is held; 0 for none. */
  recordsSeq: number;
  /** Why nothing further of its log is taken, in words; null while all is well. */
  fault: string | null;
}

export interface HeldShop {
  id: string;
  /** As the shop told it; null until it has. */
  described: ShopDescription | null;
  /** Opened on the copy of its log: only what reads may be called. */
  records: Records;
  readings: ReadingSource;
  state(): HeldState;
}

export interface HeldShops {
  /** In the order of the group file. */
  all(): HeldShop[];
  get(id: string): HeldShop | undefined;
  /** Of all shops. */
  book: CoatBook;
}
