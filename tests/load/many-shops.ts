/**
 * npm run -s many-shops -- [--shops 50] [--minutes 10] [--store sqlite|influx] [--intakes 1] [--cut-off]: shops that each send twelve
 * quantities a second by the program's own sender, through mosquitto, to a head office that runs as a process of its own. With
 * --cut-off one of them was away for a day, and catches up in the second half. Ends with 1 where a reading was lost or doubled.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { parseArgs } from "node:util";
import { freePort } from "../faults/brokers.ts";
import { costOf, startGroup } from "./group-processes.ts";
import { readingsADay, SendingShop } from "./sending-shop.ts";

const { values } = parseArgs({
  options: {
    shops: { type: "string", default: "50" },
    minutes: { type: "string", default: "10" },
    store: { type: "string", default: "sqlite" },
    intakes: { type: "string", default: "1" },
    "cut-off": { type: "boolean", default: false },
  },
});
const count = Number(values.shops);
const lengthMs = Number(values.minutes) * 60_000;
const store = values.store === "influx" ? "influx" : "sqlite";
const names = Array.from({ length: count }, (_, n) => `shop-${n + 1}`);
const folder = mkdtempSync(join(tmpdir(), "coatclock-many-shops-"));

const port = await freePort();
const group = await startGroup({ folder, port, shops: names, store, intakes: Number(values.intakes) });
try {
  const shops = names.map((name) => new SendingShop(name, port));
  const [away, ...others] = shops;
  if (away === undefined) throw new Error("--shops: expected at least 1");
  const going = values["cut-off"] ? others : shops;
  if (values["cut-off"]) await away.queueADay();
  // Spread over the second, as shops are.
  for (const shop of going) {
    shop.start();
    await delay(1000 / count);
  }
  await delay(5_000);
  for (const shop of going) shop.forgetDelays();
  const before = await Promise.all(group.processes.map(costOf));
  const startMs = performance.now();
  await delay(lengthMs / 2);
  const firstHalf = going.flatMap(({ delaysMs }) => delaysMs);
  let secondHalf: number[] = [];
  let caughtUpMs: number | null = null;
  if (values["cut-off"]) {
    for (const shop of going) shop.forgetDelays();
    const awayFromMs = performance.now();
    away.start();
    while (!away.isEmpty) await delay(50);
    caughtUpMs = performance.now() - awayFromMs;
    secondHalf = going.flatMap(({ delaysMs }) => delaysMs);
  }
  await delay(Math.max(0, startMs + lengthMs - performance.now()));
  const wallMs = performance.now() - startMs;
  const after = await Promise.all(group.processes.map(costOf));
  const all = going.flatMap(({ delaysMs }) => delaysMs);

  for (const shop of shops) shop.pause();
  const patienceEndMs = performance.now() + 120_000;
  while (shops.some((shop) => !shop.isEmpty) && performance.now() < patienceEndMs) await delay(200);
  const sent = shops.reduce((sum, shop) => sum + shop.sent, 0);
  const again = shops.reduce((sum, shop) => sum + shop.left, 0);
  for (const shop of shops) await shop.stop();
  // What is in its write-ahead logs is in the files then.
  await group.endOffices();
  const stored = await group.stored();
  const bytes = await group.bytesOnDisk();

  console.log(
    `${count} shops, 12 quantities a second each, ${values.minutes} minutes, ${store}, intakes: ${values.intakes}`,
  );
  console.log(
    `readings: sent ${sent}, stored ${stored}, lost ${Math.max(0, sent - stored)}, doubled ${Math.max(0, stored - sent)}, without receipt ${again}`,
  );
  console.log(`from stored in the shop to receipt, ms: ${spread(values["cut-off"] ? firstHalf : all)}`);
  if (caughtUpMs !== null) {
    console.log(`the others while one catches up, ms: ${spread(secondHalf)}`);
    console.log(`a day (${readingsADay} readings) caught up with in ${(caughtUpMs / 1000).toFixed(1)} s`);
  }
  for (const [index, { name }] of group.processes.entries()) {
    const [from, to] = [before[index], after[index]];
    if (from === undefined || to === undefined) continue;
    const cores = (to.cpuMs - from.cpuMs) / wallMs;
    console.log(
      `${name}: ${cores.toFixed(3)} cores, ${(to.residentBytes / 2 ** 20).toFixed(0)} MiB, at most ${(to.mostResidentBytes / 2 ** 20).toFixed(0)} MiB`,
    );
  }
  console.log(`on disk: ${(bytes / stored).toFixed(1)} bytes a reading`);
  process.exitCode = stored === sent ? 0 : 1;
} finally {
  await group.stop();
  rmSync(folder, { recursive: true, force: true });
}

function spread(delaysMs: readonly number[]): string {
  const sorted = [...delaysMs].sort((a, b) => a - b);
  const at = (share: number) =>
    (sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN).toFixed(0);
  return `half within ${at(0.5)}, 99 of 100 within ${at(0.99)}, all within ${at(1)} (${sorted.length} packs)`;
}
