/** Roll-ups and kill -9 at any moment: each reading is counted once, as itself or in a roll-up. */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { afterAll, beforeAll, expect, it } from "vitest";
import { openSqliteSource } from "../../predictor/readings/sqlite.ts";
import { rollUpMs, type Series } from "../../predictor/readings/store.ts";

const compiled = resolve(import.meta.dirname, "../../dist/predictor/readings");
const writer = resolve(import.meta.dirname, "roll-up-writer.mjs");
/** `npm run soak -- --faults` asks for 200. */
const kills = Number(process.env.COATCLOCK_KILLS ?? 20);
const series: Series = { collector: "a", sensor: "b", quantity: "air-temperature" };
const perRollUp = rollUpMs / 1000;

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-roll-up-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Gives how many readings were acknowledged. */
async function writeAndKill(file: string): Promise<number> {
  const child = spawn(process.execPath, [writer, compiled, file], { stdio: ["ignore", "pipe", "inherit"] });
  let printed = "";
  child.stdout.on("data", (data) => {
    printed += data;
  });
  const closed = once(child, "close");
  await Promise.race([once(child.stdout, "data"), closed]);
  await delay(Math.random() * 150);
  child.kill("SIGKILL");
  await closed;
  return Number(printed.split("\n").at(-2));
}

it(
  `counts each reading once after each of ${kills} kills`,
  async () => {
    const file = join(folder, "readings.db");
    let rolledUp = 0;
    for (let n = 0; n < kills; n++) {
      const acknowledged = await writeAndKill(file);
      const store = openSqliteSource(file);
      const toMs = (acknowledged + 10_000) * 1000;
      const buckets = await store.thin(series, { fromMs: 0, toMs, bucketMs: rollUpMs });
      const samples = await store.range(series, 0, toMs);
      await store.close();
      const counted = buckets.reduce((sum, { count }) => sum + count, 0);
      expect(counted).toBeGreaterThanOrEqual(acknowledged);
      expect(buckets.slice(0, -1).map(({ count }) => count)).toEqual(buckets.slice(1).map(() => perRollUp));
      const means = samples.filter(({ meanOverMs }) => meanOverMs !== undefined);
      expect(means.length * perRollUp + (samples.length - means.length)).toBe(counted);
      rolledUp = means.length;
    }
    // Else nothing was rolled up, and this shows nothing.
    expect(rolledUp).toBeGreaterThan(kills);
  },
  30_000 + kills * 5_000,
);
