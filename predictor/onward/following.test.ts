import { describe, expect, it } from "vitest";
import { CoatBook } from "../proof/coat-book.ts";
import { exampleRow } from "../proof/example-proof.ts";
import { exampleRecords } from "../records/example-records.ts";
import { noHash } from "../records/log.ts";
import { bookStep, recordsFault, recordsStep } from "./following.ts";
import type { Have, RecordsMessage } from "./messages.ts";

const have = (more: Partial<Have> = {}): Have => ({
  records: { seq: 0, hash: noHash },
  book: { epoch: "", number: 0 },
  fault: null,
  ...more,
});
const seqsOf = (step: ReturnType<typeof recordsStep>) =>
  (step?.message as RecordsMessage | undefined)?.entries.map(({ entry }) => (JSON.parse(entry) as { seq: number }).seq);

describe("what comes next of the log", () => {
  it("is what follows on the last entry held, in pieces, until all is held", () => {
    const records = exampleRecords();
    const last = records.head()?.seq ?? 0;
    expect(last).toBeGreaterThan(2);
    expect(seqsOf(recordsStep(records, have()))?.[0]).toBe(1);
    const held = { seq: 2, hash: records.hashAt(2) ?? "" };
    expect(seqsOf(recordsStep(records, have({ records: held })))?.[0]).toBe(3);
    expect(recordsFault(records, have({ records: held }))).toBeNull();
    expect(recordsStep(records, have({ records: { seq: last, hash: records.hashAt(last) ?? "" } }))).toBeNull();
    records.close();
  });

  it("is the entry in question alone where another log is held, and that is a fault", () => {
    const records = exampleRecords();
    const other = have({ records: { seq: 2, hash: "f".repeat(64) } });
    expect(seqsOf(recordsStep(records, other))).toEqual([2]);
    expect(recordsFault(records, other)).toBe("entry 2 is another than the one that the head office holds");
    records.close();
  });

  it("is the last entry alone where more is held than there is: a log that was cut short", () => {
    const records = exampleRecords();
    const last = records.head()?.seq ?? 0;
    const more = have({ records: { seq: last + 5, hash: "f".repeat(64) } });
    expect(seqsOf(recordsStep(records, more))).toEqual([last]);
    expect(recordsFault(records, more)).toBe(`the head office holds ${last + 5} entries, and this log ends at ${last}`);
    records.close();
  });

  it("goes on though the head office tells of a fault, and the fault is told", () => {
    const records = exampleRecords();
    const faulty = have({ fault: "entry 9: it is no JSON text" });
    expect(recordsFault(records, faulty)).toBe("the head office says: entry 9: it is no JSON text");
    expect(seqsOf(recordsStep(records, faulty))?.[0]).toBe(1);
    records.close();
  });
});

describe("what comes next of the book", () => {
  it("is what was changed after the number held, and all of it where that is of another book", () => {
    const book = new CoatBook(":memory:", 0);
    expect(bookStep(book, have())).toBeNull();
    book.put([exampleRow("1"), exampleRow("2")]);
    const coats = (held: Have["book"]) =>
      (bookStep(book, have({ book: held }))?.message as { rows: { row: { coat: string } }[] } | undefined)?.rows.map(
        ({ row }) => row.coat,
      );
    expect(coats({ epoch: "", number: 0 })).toEqual(["1", "2"]);
    expect(coats({ epoch: book.epoch, number: 1 })).toEqual(["2"]);
    expect(coats({ epoch: book.epoch, number: 2 })).toBeUndefined();
    expect(coats({ epoch: "another", number: 2 })).toEqual(["1", "2"]);
    book.close();
  });
});
