import { InfluxDB } from "influx";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { startInflux, type TestInflux } from "../../tests/influxd.ts";
import { storeSuite } from "../../tests/store-suite.ts";
import { openInflux, openInfluxStore } from "./influx.ts";
import { StoreAway, type StoredReading } from "./store.ts";

let influx: TestInflux;
beforeAll(async () => {
  influx = await startInflux();
});
afterAll(() => influx.end());

let shops = 0;
storeSuite({
  open: () => openInfluxStore({ url: influx.url, database: "coatclock", shop: `shop-${shops}` }),
  // Another shop's place is an empty one.
  wipe: async () => {
    shops += 1;
  },
});

const series = { collector: "booth-pi", sensor: "plenum", quantity: "air-temperature" } as const;
const at = (atMs: number, value = 20): StoredReading => ({ ...series, atMs, value });

describe("InfluxDB", () => {
  it("takes readings of many shops in one write, and keeps the shops apart", async () => {
    const head = await openInflux({ url: influx.url, database: "group" });
    const readings = [1, 2, 2, 3].map((n) => ({ ...at(n * 1000, n), shop: `garage-${n % 2}` }));
    expect(await head.append(readings)).toEqual([readings[0], readings[1], readings[3]]);
    expect(await head.append(readings)).toEqual([]);
    const store = await head.storeOf("garage-1");
    expect(await store.range(series, 0, 9000)).toEqual([1, 3].map((n) => ({ atMs: n * 1000, value: n })));
    expect(await (await head.storeOf("garage-2")).series()).toEqual([]);
  });

  it("is asked in pages, so that an answer of any length is whole", async () => {
    const store = await openInfluxStore({ url: influx.url, database: "coatclock", shop: "long" });
    const readings = Array.from({ length: 25_000 }, (_, n) => at(n * 1000, n % 50));
    await store.append(readings);
    const stored = await store.range(series, 0, 25_000_000);
    expect(stored).toEqual(readings.map(({ atMs, value }) => ({ atMs, value })));
  });

  it("ends a roll-up that was cut off, and counts nothing of it twice meanwhile", async () => {
    const shop = "cut-off";
    const store = await openInfluxStore({ url: influx.url, database: "coatclock", shop });
    const readings = Array.from({ length: 20 }, (_, n) => at(n * 60_000, n));
    await store.append(readings);
    // What is left where the program is killed after the roll-ups are written and before the readings are taken away.
    const buckets = await store.thin(series, { fromMs: 0, toMs: 900_000, bucketMs: 300_000 });
    await store.takeRollUps(series, buckets);
    const again = await openInfluxStore({ url: influx.url, database: "coatclock", shop });
    for (const one of [store, again]) {
      const samples = await one.range(series, 0, 1_200_000);
      expect(samples.map(({ atMs }) => atMs / 60_000)).toEqual([2.5, 7.5, 12.5, 15, 16, 17, 18, 19]);
      const [all] = await one.thin(series, { fromMs: 0, toMs: 1_200_000, bucketMs: 1_200_000 });
      expect(all).toMatchObject({ count: 20, min: 0, max: 19 });
      expect(await one.earliest(series)).toMatchObject({ atMs: 150_000, meanOverMs: 300_000 });
      expect(await one.latest(series, 890_000)).toMatchObject({ atMs: 750_000, meanOverMs: 300_000 });
      expect(await one.append(readings)).toEqual([]);
    }
    expect(await again.rollUp(900_000)).toBe(15);
    expect(await again.rollUp(900_000)).toBe(0);
    expect(
      (await again.thin(series, { fromMs: 0, toMs: 900_000, bucketMs: 300_000 })).map(({ count }) => count),
    ).toEqual([5, 5, 5]);
  });

  it("that drops what is too old for its own retention policy is no reason to stop, and is told of", async () => {
    const client = new InfluxDB(`${influx.url}/short`);
    await client.createDatabase("short");
    await client.createRetentionPolicy("days", { database: "short", duration: "2d", replication: 1, isDefault: true });
    const dropped: string[] = [];
    const onDropped = (message: string) => dropped.push(message);
    const store = await openInfluxStore({ url: influx.url, database: "short", shop: "short", onDropped });
    await store.append([at(1000), at(Date.now())]);
    expect(dropped).toEqual([expect.stringContaining("points beyond retention policy")]);
    expect(await store.range(series, 0, Number.POSITIVE_INFINITY)).toHaveLength(1);
  });

  it("that asks for a name and password gets them, and is told of in words when they are wrong", async () => {
    const guarded = await startInflux("auth-enabled = true");
    try {
      const client = new InfluxDB(guarded.url);
      await client.createUser("root", "root", true);
      const address = { url: guarded.url, database: "coatclock", shop: "guarded" };
      const store = await openInfluxStore({ ...address, username: "root", password: "root" });
      expect(await store.append([at(1000)])).toHaveLength(1);
      const refused = await openInfluxStore({ ...address, username: "root", password: "secret-9" }).catch((e) => e);
      expect(refused).toBeInstanceOf(StoreAway);
      expect(refused.message).toMatch(/refuses the name or password: see store.credentialsFile/);
      expect(JSON.stringify({ ...refused })).not.toContain("secret-9");
      await expect(openInfluxStore(address)).rejects.toThrow(/refuses the name or password/);
    } finally {
      await guarded.end();
    }
  });
});
