/** npm run bench: measures each budget beside its floor and prints the ratios; --json prints them for a program, a part's name measures that part. */
import { cpus, totalmem } from "node:os";
import { eventsBench } from "./events.ts";
import { followingBench } from "./following.ts";
import { forecastBench } from "./forecast.ts";
import { influxBench } from "./influx.ts";
import { integralBench } from "./integral.ts";
import { logBench } from "./log.ts";
import { memoryBench } from "./memory.ts";
import { pagesBench } from "./pages.ts";
import { receiptsBench } from "./receipts.ts";
import type { BenchRow } from "./row.ts";
import { startBench } from "./start.ts";
import { storeBench } from "./store.ts";

const parts: Record<string, () => BenchRow[] | Promise<BenchRow[]>> = {
  integral: integralBench,
  following: followingBench,
  forecast: forecastBench,
  store: storeBench,
  influx: influxBench,
  receipts: receiptsBench,
  events: eventsBench,
  start: startBench,
  memory: memoryBench,
  log: logBench,
  pages: pagesBench,
};
const asked = process.argv.slice(2).filter((argument) => !argument.startsWith("--"));
const unknown = asked.find((name) => parts[name] === undefined);
if (unknown !== undefined) {
  console.error(`There is no part "${unknown}" to measure; there are ${Object.keys(parts).join(", ")}.`);
  process.exit(2);
}
const isForPrograms = process.argv.includes("--json");
const machine = {
  cpu: cpus()[0]?.model ?? "unknown",
  cores: cpus().length,
  memoryGB: Math.round(totalmem() / 1e9),
  node: process.version,
};

if (!isForPrograms)
  console.log(`${machine.cpu}, ${machine.cores} cores, ${machine.memoryGB} GB, Node ${machine.node}\n`);
const rows: BenchRow[] = [];
for (const [name, part] of Object.entries(parts)) {
  if (asked.length > 0 && !asked.includes(name)) continue;
  // Each part as it comes: a fault in one leaves the others told.
  const measured = await part();
  rows.push(...measured);
  if (!isForPrograms) for (const row of measured) print(row);
}
if (isForPrograms) console.log(JSON.stringify({ machine, rows }, null, 2));

function print(row: BenchRow): void {
  console.log(`${row.within ? "within" : "MISSED"}  ${row.name}: ${figure(row.value)} ${row.unit}`);
  console.log(
    `        ${row.ratio.toFixed(2)} × ${figure(row.floorValue)} ${row.unit} (${row.floor}); budget ${row.budget}`,
  );
}

function figure(value: number): string {
  return value >= 1000 ? Math.round(value).toLocaleString("en") : value.toPrecision(3);
}
