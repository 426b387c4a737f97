/** What somebody at the machine asks for beside running Coatclock: names and PINs, a look through the records, an export. */
import { existsSync, readdirSync } from "node:fs";
import { hostname } from "node:os";
import { join, resolve } from "node:path";
import { type Options, UsageFault } from "./command-line.ts";
import { readingsFileName, recordsFileName, waitingFileName } from "./predictor/data-folder.ts";
import { exportAll } from "./predictor/export/export.ts";
import { People, peopleFileName } from "./predictor/people/people.ts";
import { addCollector, credentialsFileName, threeLines } from "./predictor/readings/credentials.ts";
import { openSqliteSource } from "./predictor/readings/sqlite.ts";
import type { ReadingSource } from "./predictor/readings/store.ts";
import { RecordFault } from "./predictor/records/record-fault.ts";
import { Records } from "./predictor/records/records.ts";
import { rebuild, verify } from "./predictor/records/verify.ts";
import { readShopFile } from "./predictor/shop-file.ts";
import { openShopSource } from "./predictor/shop-store.ts";

type Of<T extends Options["task"]> = Extract<Options, { task: T }>;

export function newCollector(shop: string, collector: string): string {
  const { broker, collectors } = readShopFile(shop);
  if (collectors[collector] === undefined) {
    throw new UsageFault(
      `--add-collector ${collector}: the shop file names ${Object.keys(collectors).join(", ") || "no collectors"}`,
    );
  }
  if (broker.kind === "address") {
    throw new UsageFault("the shop file names another broker: make the name and password there");
  }
  const credential = addCollector(join(dataFolderHere(), credentialsFileName), collector);
  const { port, listen, certFile } = broker;
  return threeLines(credential, { host: hostname(), port, tls: certFile !== undefined, listen });
}

/** Works while the program runs, too. */
export async function newPin(name: string, asInstaller: boolean): Promise<string> {
  const file = recordsHere();
  const now = Date.now;
  const records = new Records({ file, now, clock: () => "unsynchronised" });
  const people = await People.open({ file: join(dataFolderHere(), peopleFileName), records, now, rehearsalPin: null });
  try {
    const pin = await people.handOverPin(name, { asInstaller });
    return `PIN of ${name}: ${pin}\nHand it over in person; it can be changed under Settings. Earlier sessions of ${name} have ended.`;
  } catch (error) {
    throw error instanceof RecordFault ? new UsageFault(error.message) : error;
  } finally {
    people.close();
    records.close();
  }
}

export function verifyRecords({ witnessed, rebuild: wantsRebuild }: Of<"verify">): void {
  const file = join(dataFolderHere(), recordsFileName);
  if (wantsRebuild) {
    const { entries, aside } = rebuild(file, Date.now());
    console.log(`The tables were made anew from ${entries} entries; ${aside} is the file as it was.`);
  }
  const { entries, head, faults } = verify(file, { witnessed });
  for (const fault of faults) console.log(`FAULT  ${fault}`);
  const last = head === null ? "" : `; the last is ${head.seq}:${head.hash}`;
  console.log(`${file}: ${entries} entries${last}; ${faults.length === 0 ? "all is well" : "see docs/records.md"}`);
  if (faults.length > 0) process.exitCode = 3;
}

/** Works while the program runs, too. */
export async function exportInto({ folder, shop, ...span }: Of<"export">): Promise<string> {
  const recordsFile = recordsHere();
  const into = resolve(folder);
  if (!isFree(into)) throw new UsageFault(`--export ${folder}: expected an empty folder, or one that is not there yet`);
  const source = await readingsHere(shop);
  const { records, readings } = await exportAll({ recordsFile, source, folder: into, ...span });
  await source?.close();
  const rows = Object.entries(records.rows).map(([name, count]) => `  records/${name}: ${count} rows`);
  return [
    `Exported to ${into}:`,
    `  records/log.jsonl: ${records.entries} entries`,
    ...rows,
    `  records/sheets.yaml: ${records.sheets} sheets`,
    `  readings: ${readings.series} series, ${readings.readings} readings, ${readings.fiveMinutes} five minutes`,
  ].join("\n");
}

/** Those of the shop file's store, or of this machine where none is named. */
async function readingsHere(shop: string | undefined): Promise<ReadingSource | null> {
  const dataFolder = dataFolderHere();
  if (shop !== undefined) return openShopSource({ shopFile: readShopFile(shop), dataFolder });
  if (existsSync(join(dataFolder, waitingFileName))) {
    throw new UsageFault("the readings of this shop are in InfluxDB: name it with --shop FILE");
  }
  const file = join(dataFolder, readingsFileName);
  return existsSync(file) ? openSqliteSource(file) : null;
}

function isFree(folder: string): boolean {
  try {
    return readdirSync(folder).length === 0;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === "ENOENT";
  }
}

export function dataFolderHere(): string {
  return resolve(process.env.COATCLOCK_DATA ?? "data");
}

/** The records' file, for what has no use without one. */
function recordsHere(): string {
  const folder = dataFolderHere();
  const file = join(folder, recordsFileName);
  if (existsSync(file)) return file;
  throw new UsageFault(`there are no records in ${folder}: set COATCLOCK_DATA to the shop's data folder`);
}
