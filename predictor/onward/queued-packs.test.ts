import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { quantityNames } from "../../collector/readings.ts";
import type { OnwardQueue } from "../readings/onward-queue.ts";
import { readingOf } from "../readings/reading-of.ts";
import { resolveSenml } from "../readings/senml.ts";
import { openSqliteStoreWithQueue } from "../readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../readings/store.ts";
import { onwardPack, QueuedPacks } from "./queued-packs.ts";

let folder: string;
let store: ReadingStore;
let queue: OnwardQueue;
const open = () => {
  ({ store, queue } = openSqliteStoreWithQueue(join(folder, "readings.db")));
};
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-queue-"));
  open();
});
afterEach(async () => {
  await store.close();
  rmSync(folder, { recursive: true, force: true });
});

const reading = (value: number): StoredReading => ({
  collector: "pi",
  sensor: value % 2 === 0 ? "air" : "yard",
  quantity: "air-temperature",
  atMs: Date.UTC(2026, 10, 3) + value * 1000,
  value,
});
const append = (from: number, count: number) =>
  store.append(Array.from({ length: count }, (_, n) => reading(from + n)));
const valuesIn = ({ payload }: { payload: string }) =>
  resolveSenml(JSON.parse(payload), null).map((record) => readingOf(record).value);

describe("the queue to the head office", () => {
  it("holds what is new in the store, through a restart, until it is acknowledged", async () => {
    await append(0, 10);
    await append(5, 10);
    expect(queue.count).toBe(15);
    queue.remove(1, 4);
    await store.close();
    open();
    expect(queue.between(0, queue.nextNumber, 100).map(({ reading: { value } }) => value)).toEqual(
      Array.from({ length: 11 }, (_, n) => n + 4),
    );
    expect(queue.count).toBe(11);
  });

  it("has its removals in the next commit at the latest", async () => {
    await append(0, 10);
    queue.remove(1, 10);
    await append(10, 2);
    expect(queue.count).toBe(2);
  });
});

describe("packs of the queue", () => {
  it("give what is live its place beside the backlog, and each reading once", async () => {
    await append(0, 700);
    const packs = new QueuedPacks(queue);
    await append(700, 3);
    expect([...packs.waiting("live")]).toEqual([]);
    packs.gathered();
    const [live] = [...packs.waiting("live")];
    const backlog = [...packs.waiting("backlog")];
    expect(live && valuesIn(live)).toEqual([700, 701, 702]);
    expect(backlog.map((pack) => valuesIn(pack).length)).toEqual([500, 200]);
    expect([...packs.waiting("backlog")]).toEqual(backlog);
    for (const { digest } of backlog) expect(packs.remove(digest)).toBe(true);
    expect(packs.remove(backlog[0]?.digest ?? "")).toBe(false);
    await append(703, 1);
    expect(queue.count).toBe(4);
  });

  it("make backlog of what had no receipt when the connection was lost", async () => {
    const packs = new QueuedPacks(queue);
    await append(0, 4);
    packs.gathered();
    const [first] = [...packs.waiting("live")];
    await append(4, 4);
    packs.gathered();
    expect([...packs.waiting("live")]).toHaveLength(2);
    packs.remove(first?.digest ?? "");
    await append(8, 2);
    packs.demoteLive();
    expect([...packs.waiting("live")]).toEqual([]);
    expect([...packs.waiting("backlog")].flatMap(valuesIn)).toEqual([4, 5, 6, 7, 8, 9]);
  });

  it("carry any readings through SenML and back", () => {
    const readings = fc.array(
      fc.record({
        collector: fc.constantFrom("pi", "other"),
        sensor: fc.constantFrom("air", "yard", "x1"),
        quantity: fc.constantFrom(...quantityNames),
        atMs: fc.integer({ min: 2 ** 28 * 1000, max: Date.UTC(2200, 0) }),
        value: fc.double({ noNaN: true, noDefaultInfinity: true }),
      }),
      { minLength: 1, maxLength: 40 },
    );
    const inOrder = (some: readonly StoredReading[]) => some.map((one) => JSON.stringify(one)).sort();
    fc.assert(
      fc.property(readings, (sent) => {
        const wire: unknown = JSON.parse(JSON.stringify(onwardPack(sent)));
        expect(inOrder(resolveSenml(wire, null).map(readingOf))).toEqual(inOrder(sent));
      }),
    );
  });
});
