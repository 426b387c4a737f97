import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { exampleRecords, painter } from "./example-records.ts";
import type { Records } from "./records.ts";
import { startWitness } from "./witness.ts";

const topic = "coatclock/1/tested/records/head";
const startedAtMs = Date.UTC(2026, 2, 2, 22, 30);
const hourMs = 60 * 60_000;

let records: Records;
let published: [topic: string, message: object][];
beforeEach(() => {
  vi.useFakeTimers({ now: startedAtMs });
  records = exampleRecords();
  published = [];
});
afterEach(() => {
  vi.useRealTimers();
  records.close();
});
const start = (of: Pick<Records, "head"> = records) =>
  startWitness({
    records: of,
    retain: (to, message) => published.push([to, message]),
    topic,
    now: Date.now,
  });

it("publishes the head at the start and then at each midnight UTC, as it stands then, until it is stopped", () => {
  const stop = start();
  const first = records.head();
  expect(published).toEqual([[topic, { seq: first?.seq, hash: first?.hash, at: "2026-03-02T22:30:00.000Z" }]]);
  records.addPersonEvent({ event: "changed", name: "An Invented", change: "left" }, painter);
  vi.advanceTimersByTime(1.5 * hourMs - 1);
  expect(published).toHaveLength(1);
  vi.advanceTimersByTime(1);
  expect(published[1]?.[1]).toMatchObject({ seq: Number(first?.seq) + 1, hash: records.head()?.hash });
  vi.advanceTimersByTime(24 * hourMs);
  expect(published).toHaveLength(3);
  stop();
  vi.advanceTimersByTime(72 * hourMs);
  expect(published).toHaveLength(3);
});

it("publishes nothing of an empty log, and waits for the next midnight", () => {
  let head: ReturnType<Records["head"]> = null;
  const stop = start({ head: () => head });
  expect(published).toEqual([]);
  head = { seq: 1, hash: "0", atMs: 0 };
  vi.advanceTimersByTime(2 * hourMs);
  expect(published).toHaveLength(1);
  stop();
});
