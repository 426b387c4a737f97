/** The store of readings in InfluxDB against the bare client and bare InfluxQL on the same database. Skipped where influxd is absent. */
import { existsSync } from "node:fs";
import { InfluxDB } from "influx";
import { openInfluxStore } from "../../predictor/readings/influx.ts";
import type { StoredReading } from "../../predictor/readings/store.ts";
import { influxd, startInflux } from "../influxd.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const rows = 20_000;
const runs = 5;
const startMs = Date.parse("2026-03-02T00:00:00Z");
const weekRows = 60_480;

export async function influxBench(): Promise<BenchRow[]> {
  if (!existsSync(influxd)) {
    console.error(`influx: skipped, since ${influxd} is absent`);
    return [];
  }
  const influx = await startInflux();
  try {
    return [
      await appending(influx.url, 100, { least: 0.5 }),
      await appending(influx.url, 1000, { least: 0.5 }),
      await thinnedWeek(influx.url),
    ];
  } finally {
    await influx.end();
  }
}

/** One line of readings, all new, in batches of a size. */
function readingsOf(sensor: string, count: number, everyMs: number): StoredReading[] {
  const series = { collector: "bench", sensor, quantity: "air-temperature" } as const;
  return Array.from({ length: count }, (_, n) => ({
    ...series,
    atMs: startMs + n * everyMs,
    value: 20 + Math.sin(n / 1000),
  }));
}

async function appending(url: string, batch: number, bound: { least: number }): Promise<BenchRow> {
  const client = bareClient(url);
  await client.createDatabase("bare");
  const store = await openInfluxStore({ url, database: "coatclock", shop: `shop-${batch}` });
  const bare: number[] = [];
  const ours: number[] = [];
  // Taken in turns, so that a slow moment of the disk meets both.
  for (let run = 0; run < runs; run++) {
    const readings = readingsOf(`run-${run}`, rows, 1000);
    bare.push(
      await rate(readings, batch, (some) =>
        client.writePoints(
          some.map(({ collector, sensor, quantity, atMs, value }) => ({
            measurement: `batch_${batch}`,
            tags: { shop: "bare", collector, sensor, quantity },
            fields: { value },
            timestamp: atMs,
          })),
          { precision: "ms" },
        ),
      ),
    );
    ours.push(await rate(readings, batch, (some) => store.append(some)));
  }
  return benchRow(
    {
      name: `InfluxDB: rows a second, ${batch} a write`,
      floor: "the bare client's writePoints, same batch",
      floorValue: median(bare),
      value: median(ours),
      unit: "rows/s",
    },
    bound,
  );
}

async function rate(
  readings: readonly StoredReading[],
  batch: number,
  write: (some: StoredReading[]) => Promise<unknown>,
): Promise<number> {
  const startedMs = performance.now();
  for (let from = 0; from < readings.length; from += batch) await write(readings.slice(from, from + batch));
  return readings.length / ((performance.now() - startedMs) / 1000);
}

async function thinnedWeek(url: string): Promise<BenchRow> {
  const store = await openInfluxStore({ url, database: "coatclock", shop: "week" });
  const week = readingsOf("week", weekRows, 10_000);
  await store.append(week);
  const client = bareClient(url, "coatclock");
  const toMs = startMs + weekRows * 10_000;
  const query = `SELECT min(value), max(value), mean(value) FROM readings WHERE shop = 'week' AND time >= ${startMs}ms AND time < ${toMs}ms GROUP BY time(5m)`;
  const bare: number[] = [];
  const ours: number[] = [];
  const series = { collector: "bench", sensor: "week", quantity: "air-temperature" } as const;
  for (let run = 0; run < 21; run++) {
    const startedMs = performance.now();
    await client.queryRaw(query, { precision: "ms" });
    const betweenMs = performance.now();
    await store.thin(series, { fromMs: startMs, toMs, bucketMs: 300_000 });
    bare.push(betweenMs - startedMs);
    ours.push(performance.now() - betweenMs);
  }
  return benchRow(
    {
      name: "InfluxDB: a week of one line thinned to 5 minutes",
      floor: "the same in bare InfluxQL",
      floorValue: median(bare),
      value: median(ours),
      unit: "ms",
    },
    { most: 3 },
  );
}

function bareClient(url: string, database = "bare"): InfluxDB {
  return new InfluxDB({ host: "127.0.0.1", port: Number(new URL(url).port), database });
}
