import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Follow } from "../follow/follow.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { ReadingStore } from "../readings/store.ts";
import { exampleRecords, painter, plainCoat } from "../records/example-records.ts";
import type { Records } from "../records/records.ts";
import { BookKeeper } from "./book-keeper.ts";
import { CoatBook } from "./coat-book.ts";

const places = { booth: { name: "Booth", kind: "booth", sensors: { "air-temperature": "pi/air" } } } as const;
const shopFile = { places, outdoorPlace: undefined, energy: undefined, learning: { off: [], earlierThanSheet: [] } };
const logger = pino({ level: "silent" });
const now = Date.now;

let records: Records;
let store: ReadingStore;
let follow: Follow;
let book: CoatBook;
beforeEach(async () => {
  records = exampleRecords();
  store = openSqliteStore(":memory:");
  follow = new Follow({ store, records, shopFile, offsetMs: () => 0, now, logger } as ConstructorParameters<
    typeof Follow
  >[0]);
  await follow.start();
  book = new CoatBook(":memory:", 0);
});
afterEach(async () => {
  await follow.stop();
  book.close();
  await store.close();
  records.close();
});

const keeperOf = () =>
  new BookKeeper({ shop: "tested", book, records, follow, store, places, now, logger } as ConstructorParameters<
    typeof BookKeeper
  >[0]);
function aCoat(job: string): string {
  const atMs = now() - 3_600_000;
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  const { id } = records.addCar({ job, name: "Grey van", panels, place: "booth", atMs }, painter);
  return records.addCoats(id, { ...plainCoat, finishedAtMs: atMs + 1000 }, painter)[0]?.id ?? "";
}

describe("the book's keeper", () => {
  it("takes up what was entered before it started, and then each entry", async () => {
    const before = aCoat("J-1");
    const keeper = keeperOf();
    keeper.start();
    await expect.poll(() => book.row("tested", before)?.job).toBe("J-1");
    const after = aCoat("J-2");
    expect(keeper.pending).toBeGreaterThan(0);
    await expect.poll(() => book.row("tested", after)?.deviations.map(({ code }) => code)).toContain("no-prediction");
    await expect.poll(() => book.seenSeq).toBe(records.head()?.seq);
    expect(keeper.pending).toBe(0);
    await keeper.stop();
  });

  it("comes back to a coat whose late readings it had not worked in before it was killed", async () => {
    const coat = aCoat("J-1");
    const first = keeperOf();
    first.start();
    await expect.poll(() => book.row("tested", coat)).not.toBeNull();
    await first.stop();
    const row = book.row("tested", coat);
    if (row === null) throw new Error("no row");
    // Done, as far as the book knows.
    book.put([{ ...row, figures: { ...row.figures, untilMs: now(), isOver: true } }]);
    const killed = keeperOf();
    killed.start();
    const atMs = now() - 1_800_000;
    const late = { collector: "pi", sensor: "air", quantity: "air-temperature", atMs, value: 21 } as const;
    follow.committed(await store.append([late]));
    await killed.stop();
    expect(book.carsNotOver()).toEqual([row.carId]);
  });

  it("loses nothing where the book can't be written for a time, and a kill in between only means doing it again", async () => {
    const coat = aCoat("J-1");
    const put = vi.spyOn(book, "put").mockImplementation(() => {
      throw Object.assign(new Error("database or disk is full"), { code: "SQLITE_FULL" });
    });
    const keeper = keeperOf();
    keeper.start();
    await expect.poll(() => put.mock.calls.length).toBeGreaterThan(0);
    expect(book.seenSeq).toBe(0);
    put.mockRestore();
    const other = aCoat("J-2");
    await expect.poll(() => [book.row("tested", coat)?.job, book.row("tested", other)?.job]).toEqual(["J-1", "J-2"]);
    await keeper.stop();
    expect(book.seenSeq).toBe(records.head()?.seq);
  });
});
