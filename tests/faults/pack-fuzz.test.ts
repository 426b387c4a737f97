/**
 * What comes as packs and is none must harm nobody: the intake refuses it with a reason or takes what is good in it, and the
 * packs between are stored as they were sent. COATCLOCK_FUZZ sets how many are made, 10,000 or more.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import fc from "fast-check";
import { pino } from "pino";
import { afterEach, beforeEach, expect, it } from "vitest";
import { nameSchema, packDigest, packOf, quantities, type Receipt } from "../../collector/readings.ts";
import { Intake } from "../../predictor/readings/intake.ts";
import { ofCollectors } from "../../predictor/readings/reading-of.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import type { ReadingStore, StoredReading } from "../../predictor/readings/store.ts";
import { damagedPack, fuzzer, largePacks, madeUpPack, randomOf } from "./pack-makers.ts";

const packsInAll = Number(process.env.COATCLOCK_FUZZ ?? 100_000);
const perBatch = 1000;
/** The heap is looked at after so many batches, when all code has been compiled, and at the end. */
const warmBatches = 5;
const grownAtMostMB = 4;
/** After every so many of them comes a good pack of another collector. */
const neighbourEvery = 5;
const seed = 20_260_302;
const nowMs = Date.parse("2026-03-02T08:00:00Z");
const topicOf = (collector: string) => `coatclock/1/shop/readings/${collector}`;
const neighbour = { collector: "booth-pi", sensor: "plenum", quantity: "air-temperature" } as const;
const neighbourReading = (n: number) => ({ atMs: nowMs - 1000 * (packsInAll - n), value: 15 + (n % 200) / 10 });

setFlagsFromString("--expose-gc");
const collectGarbage: () => void = runInNewContext("gc");
function heapUsed(): number {
  collectGarbage();
  return process.memoryUsage().heapUsed;
}

let folder: string;
let store: ReadingStore;
let intake: Intake;
let receipts: { collector: string; receipt: Receipt }[];
/** Of what was committed, what no reading may be. */
let impossible: StoredReading[];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-fuzz-"));
  store = openSqliteStore(join(folder, "readings.sqlite"));
  receipts = [];
  impossible = [];
  intake = new Intake({
    ...ofCollectors,
    store,
    onCommitted: (readings) => impossible.push(...readings.filter((reading) => !isPossible(reading))),
    sendReceipt: (collector, receipt) => receipts.push({ collector, receipt }),
    now: () => nowMs,
    isClockBelieved: () => true,
    logger: pino({ level: "silent" }),
  });
});
afterEach(async () => {
  await intake.stop();
  await store.close();
  rmSync(folder, { recursive: true });
});

function isPossible({ collector, sensor, quantity, atMs, value }: StoredReading): boolean {
  return (
    (collector === fuzzer || collector === neighbour.collector) &&
    nameSchema.safeParse(sensor).success &&
    Object.hasOwn(quantities, quantity) &&
    Number.isFinite(value) &&
    !Number.isNaN(new Date(atMs).getTime())
  );
}

interface Sent {
  collector: string;
  payload: Buffer;
}

/**
 * Hands over packs and waits for their receipts; each must have one, but for those that are left for their instants, and each
 * refusal its reason. Counts the refused.
 */
async function handOver(packs: readonly Sent[]): Promise<number> {
  receipts = [];
  const leftBefore = intake.state().packsUndated;
  for (const { collector, payload } of packs) intake.accept(topicOf(collector), payload);
  const deadlineMs = performance.now() + 30_000;
  const left = intake.state().packsUndated - leftBefore;
  while (
    receipts.length < packs.length - left &&
    intake.state().storeFault === null &&
    performance.now() < deadlineMs
  ) {
    await delay(1);
  }
  await delay(1);
  const nameOf = (collector: string, digest: string) => `${collector} ${digest}`;
  const unanswered = packs.map(({ collector, payload }) => nameOf(collector, packDigest(payload)));
  expect(intake.state().storeFault).toBeNull();
  for (const { collector, receipt } of receipts) {
    const index = unanswered.indexOf(nameOf(collector, receipt.pack));
    expect(index).toBeGreaterThanOrEqual(0);
    unanswered.splice(index, 1);
  }
  expect(unanswered).toHaveLength(left);
  expect(unanswered.filter((name) => !name.startsWith(fuzzer))).toEqual([]);
  const refused = receipts.filter(({ receipt }) => receipt.status === "refused");
  expect(
    refused.filter(({ receipt }) => !(receipt.reason !== undefined && /^.{3,300}$/su.test(receipt.reason))),
  ).toEqual([]);
  expect(refused.filter(({ collector }) => collector !== fuzzer)).toEqual([]);
  expect(impossible).toEqual([]);
  return refused.length;
}

it(`${packsInAll} packs made up or damaged: each is answered, none does harm, the good ones between are stored as they were sent`, {
  timeout: 120_000 + packsInAll * 5,
}, async () => {
  const random = randomOf(seed);
  const inherited = Reflect.ownKeys(Object.prototype);
  let neighbours = 0;
  let refused = 0;
  let heapBefore = 0;
  for (let made = 0; made < packsInAll; made += perBatch) {
    const madeUp = fc.sample(madeUpPack, { numRuns: perBatch / 2, seed: seed + made });
    const strange = madeUp.flatMap((pack) => [pack, damagedPack(random)]);
    const packs = strange.flatMap((payload, n): Sent[] => {
      const sent = [{ collector: fuzzer, payload }];
      if (n % neighbourEvery !== 0) return sent;
      const good = packOf(neighbour.collector, [{ ...neighbour, ...neighbourReading(neighbours++) }]);
      return [...sent, { collector: neighbour.collector, payload: Buffer.from(JSON.stringify(good)) }];
    });
    refused += await handOver(packs);
    if (made === (warmBatches - 1) * perBatch) heapBefore = heapUsed();
  }
  receipts = [];
  const grownMB = (heapUsed() - heapBefore) / 1e6;
  // Both happen often enough for the rest to mean something.
  expect(refused).toBeGreaterThan(0.3 * packsInAll);
  expect(refused).toBeLessThan(0.95 * packsInAll);
  expect(intake.state().packsUndated).toBeLessThan(0.2 * packsInAll);
  expect(grownMB).toBeLessThan(grownAtMostMB);
  const stored = await store.range(neighbour, 0, Number.MAX_SAFE_INTEGER);
  expect(stored).toEqual(Array.from({ length: neighbours }, (_, n) => neighbourReading(n)));
  expect(Reflect.ownKeys(Object.prototype)).toEqual(inherited);
});

it.each(Object.entries(largePacks))("a large pack is answered and does no harm: %s", async (_name, make) => {
  const good = packOf(neighbour.collector, [{ ...neighbour, ...neighbourReading(0) }]);
  const refused = await handOver([
    { collector: fuzzer, payload: make() },
    { collector: neighbour.collector, payload: Buffer.from(JSON.stringify(good)) },
  ]);
  expect(refused).toBe(1);
  expect(JSON.stringify(intake.state()).length).toBeLessThan(2000);
  expect(await store.range(neighbour, 0, Number.MAX_SAFE_INTEGER)).toEqual([neighbourReading(0)]);
  expect(await store.series()).toEqual([neighbour]);
});
