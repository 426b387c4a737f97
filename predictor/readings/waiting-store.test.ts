import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from "vitest";
import { startInflux, type TestInflux } from "../../tests/influxd.ts";
import { storeSuite } from "../../tests/store-suite.ts";
import { openInfluxStore } from "./influx.ts";
import { StoreAway, type StoredReading } from "./store.ts";
import { WaitingFile } from "./waiting-file.ts";
import { WaitingStore } from "./waiting-store.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-waiting-"));
const logger = pino({ level: "silent" });
let influx: TestInflux;
beforeAll(async () => {
  influx = await startInflux();
});
afterAll(async () => {
  await influx.end();
  rmSync(folder, { recursive: true, force: true });
});

let shops = 0;
const far = () => openInfluxStore({ url: influx.url, database: "coatclock", shop: `shop-${shops}` });
const open = () => {
  const file = new WaitingFile(join(folder, `${shops}.db`));
  return WaitingStore.open({ file, now: Date.now, logger }, far);
};
const wipe = async () => {
  shops += 1;
};
storeSuite({ open, wipe });

describe("while InfluxDB is away", () => {
  const series = { collector: "booth-pi", sensor: "plenum", quantity: "air-temperature" } as const;
  const at = (atMs: number, value = 20): StoredReading => ({ ...series, atMs, value });
  let store: WaitingStore;
  beforeEach(async () => {
    await wipe();
    store = await open();
  });
  afterEach(() => store.close());

  it("appending goes on, reading says where it is and what to do, and all is there when it is back", async () => {
    await store.append([at(1000), at(2000)]);
    expect(await store.range(series, 0, 9000)).toHaveLength(2);
    await influx.kill();
    expect(await store.append([at(3000), at(4000)])).toHaveLength(2);
    await expect(store.range(series, 0, 9000)).rejects.toThrow(StoreAway);
    await expect(store.latest(series)).rejects.toThrow(/InfluxDB at http.*can't be reached.*see whether it runs/);
    expect(store.state()).toMatchObject({ count: 2, awaySinceMs: expect.any(Number), fault: expect.any(String) });
    // A copy of one that waits is told, one of a reading that has gone on is told when it goes on itself.
    expect(await store.append([at(3000, 99), at(1000, 99)])).toEqual([at(1000, 99)]);
    await influx.start();
    expect(await store.range(series, 0, 9000)).toEqual([1000, 2000, 3000, 4000].map((atMs) => ({ atMs, value: 20 })));
    expect(store.state()).toEqual({ count: 0, awaySinceMs: null, fault: null });
  });

  it("what waited at the end of the program goes on after the next start", async () => {
    await influx.kill();
    await store.append([at(1000)]);
    await store.close();
    const opening = open();
    await delay(100);
    await influx.start();
    store = await opening;
    expect(store.state().count).toBe(0);
    const own = await far();
    expect(await own.range(series, 0, 9000)).toEqual([{ atMs: 1000, value: 20 }]);
  });

  it("nothing is lost and nothing doubled when it is killed again and again in the middle of a flow", async () => {
    let atMs = 0;
    let isFlowing = true;
    const told: number[] = [];
    const flowing = (async () => {
      while (isFlowing) {
        const some = Array.from({ length: 50 }, (_, n) => at(atMs + n * 1000, (atMs / 1000 + n) % 60));
        atMs += 50_000;
        // Each comes twice, as from a collector that lost a receipt.
        for (const reading of await store.append(some)) told.push(reading.atMs);
        for (const reading of await store.append(some.slice(25))) told.push(reading.atMs);
        await delay(5);
      }
    })();
    for (let n = 0; n < 3; n += 1) {
      await delay(600);
      await influx.kill();
      await delay(150);
      await influx.start();
    }
    isFlowing = false;
    await flowing;
    await expect.poll(() => store.series().catch(() => null)).not.toBeNull();
    const stored = await store.range(series, 0, atMs + 1);
    expect(stored.length).toBeGreaterThan(1000);
    expect(stored.map((sample) => sample.atMs)).toEqual(Array.from({ length: atMs / 1000 }, (_, n) => n * 1000));
    expect(stored.every((sample) => sample.value === (sample.atMs / 1000) % 60)).toBe(true);
    expect(new Set(told)).toEqual(new Set(stored.map((sample) => sample.atMs)));
    const [bucket] = await store.thin(series, { fromMs: 0, toMs: atMs + 1, bucketMs: atMs + 1 });
    expect(bucket?.count).toBe(stored.length);
  });

  it("a reading that no store can hold is refused, and keeps nothing from going on", async () => {
    await expect(store.append([at(1000), at(9.3e12)])).rejects.toThrow(/from 1678 to 2261/);
    await store.append([at(2000)]);
    expect(await store.range(series, 0, 9000)).toEqual([{ atMs: 2000, value: 20 }]);
  });
});
