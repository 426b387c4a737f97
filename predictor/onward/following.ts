/** What comes next of the log and of the book of coats, by what the head office says it holds: pure but for what it reads. */
import type { CoatBook } from "../proof/coat-book.ts";
import type { Records } from "../records/records.ts";
import type { BookMessage, Have, RecordsMessage } from "./messages.ts";
import type { Step } from "./step-by-step.ts";

/** A message stays well below what brokers take as their largest. */
const charactersAMessage = 100_000;
const rowsAMessage = 50;

type LogRead = Pick<Records, "head" | "hashAt" | "writtenAfter">;

/** Whether what is held there is not the beginning of this log: it was written anew, cut short, or is another shop's. */
function departsAt(records: LogRead, { seq, hash }: Have["records"]): boolean {
  return seq > 0 && records.hashAt(seq) !== hash;
}

/** Why the head office can't hold this log, in words; null while it can. */
export function recordsFault(records: LogRead, have: Have): string | null {
  const { seq } = have.records;
  if (departsAt(records, have.records)) {
    const last = records.head()?.seq ?? 0;
    return last < seq
      ? `the head office holds ${seq} entries, and this log ends at ${last}`
      : `entry ${seq} is another than the one that the head office holds`;
  }
  return have.fault === null ? null : `the head office says: ${have.fault}`;
}

/** The entries that follow what is held; where the logs differ, the last one that both should have, for the office to see it too. */
export function recordsStep(records: LogRead, have: Have): Step | null {
  const { seq, hash } = have.records;
  const head = records.head();
  if (head === null) return null;
  const differs = departsAt(records, have.records);
  if (!differs && head.seq <= seq) return null;
  const written = differs
    ? records.writtenAfter(Math.min(seq, head.seq) - 1, 0)
    : records.writtenAfter(seq, charactersAMessage);
  const message: RecordsMessage = { entries: written.map(({ entry, hash: of }) => ({ entry, hash: of })) };
  return { step: differs ? `${seq} ${hash} ${head.seq}` : `${seq}`, message };
}

/** The rows that were changed after what is held; all, where that is of another book. */
export function bookStep(book: Pick<CoatBook, "epoch" | "lastNumber" | "changedAfter">, have: Have): Step | null {
  const after = have.book.epoch === book.epoch ? have.book.number : 0;
  if (book.lastNumber <= after) return null;
  const message: BookMessage = { epoch: book.epoch, after, rows: book.changedAfter(after, rowsAMessage) };
  return { step: `${have.book.epoch} ${after}`, message };
}
