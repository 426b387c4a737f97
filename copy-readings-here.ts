/** npm start -- --shop FILE --copy-readings: moves a shop's readings between this machine and InfluxDB, and proves it. */
import { existsSync, rmSync } from "node:fs";
import { join } from "node:path";
import { type StoreKind, UsageFault } from "./command-line.ts";
import { readingsFileName, waitingFileName } from "./predictor/data-folder.ts";
import { type CopiedSeries, copyReadings, type Held } from "./predictor/readings/copy-readings.ts";
import type { InfluxStore } from "./predictor/readings/influx-store.ts";
import { openSqliteSource, openSqliteStore } from "./predictor/readings/sqlite.ts";
import { seriesKey } from "./predictor/readings/store.ts";
import { WaitingFile } from "./predictor/readings/waiting-file.ts";
import { readShopFile } from "./predictor/shop-file.ts";
import { openInfluxOf } from "./predictor/shop-store.ts";

/** Prints what both hold of each series; the exit code is 3 where they differ. */
export async function copyReadingsHere(shop: string, to: StoreKind, dataFolder: string): Promise<void> {
  const shopFile = readShopFile(shop);
  if (shopFile.store.kind !== "influx") {
    throw new UsageFault("--copy-readings: the shop file must name InfluxDB: store: { kind: influx, url: … }");
  }
  const file = join(dataFolder, readingsFileName);
  if (to === "influx" && !existsSync(file)) {
    throw new UsageFault(`there are no readings in ${dataFolder}: set COATCLOCK_DATA to the shop's data folder`);
  }
  const influx = await openInfluxOf(shopFile, shopFile.store);
  await sendWaiting(join(dataFolder, waitingFileName), influx);
  const copied: CopiedSeries[] = [];
  const tell = (one: CopiedSeries) => {
    copied.push(one);
    console.log(linesOf(one));
  };
  if (to === "influx") {
    const source = openSqliteSource(file);
    await copyReadings(source, influx, tell);
    await source.close();
  } else {
    const target = openSqliteStore(file);
    await copyReadings(influx, target, tell);
    await target.close();
  }
  const differing = copied.filter((one) => one.differing.length > 0).length;
  if (differing > 0) {
    process.exitCode = 3;
    console.log(`${differing} of ${copied.length} series differ: see docs/influxdb.md. Nothing was taken away.`);
    return;
  }
  const next =
    to === "influx"
      ? `Start Coatclock with ${shop}, which names InfluxDB. ${file} is as it was: keep it until you are sure.`
      : `Write store: { kind: sqlite } in ${shop}, and start Coatclock. InfluxDB is as it was.`;
  console.log(`${copied.length} series are the same in both, by counts and sums of every day. ${next}`);
}

/** What Coatclock had not handed on when it stopped. The file goes with it: Coatclock makes it anew where it needs it. */
async function sendWaiting(file: string, influx: InfluxStore): Promise<void> {
  if (!existsSync(file)) return;
  const waiting = new WaitingFile(file);
  try {
    for (let batch = waiting.oldest(batchSize); batch.readings.length > 0; batch = waiting.oldest(batchSize)) {
      await influx.append(batch.readings);
      waiting.drop(batch.upTo);
    }
  } finally {
    waiting.close();
  }
  for (const suffix of ["", "-wal", "-shm"]) rmSync(file + suffix, { force: true });
}

const batchSize = 5_000;

function linesOf({ series, from, to, more, differing }: CopiedSeries): string {
  const head = `${differing.length === 0 ? "same  " : "DIFFER"}  ${seriesKey(series)}`;
  if (differing.length === 0) return `${head}: ${told(from)}${more === 0 ? "" : `; the copy holds ${more} more`}`;
  return [`${head}: on ${differing.join(", ")}`, `        from  ${told(from)}`, `        to    ${told(to)}`].join("\n");
}

function told({ readings, sum, marked, fiveMinutes, counted, sumOfMeans }: Held): string {
  const single = `${readings} readings, sum ${sum}, ${marked} marked`;
  return fiveMinutes === 0
    ? single
    : `${single}; ${fiveMinutes} five minutes of ${counted}, sum of means ${sumOfMeans}`;
}
