/** From the start of the compiled program to its first answer, with data on disk, beside the libraries it rests on. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { freePort, withChild } from "./child.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const runs = 5;
const main = resolve(import.meta.dirname, "../../main.js");
const bare = resolve(import.meta.dirname, "bare-program.js");

/** A new rehearsal shop, with nothing on disk. */
export async function startBench(): Promise<BenchRow[]> {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-bench-"));
  try {
    return [await startRow("a new rehearsal shop", (run) => ({ args: [], dataFolder: join(folder, `${run}`) }))];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** `shopOf` gives the arguments of a shop that is not running, and its data folder. */
export async function startRow(
  what: string,
  shopOf: (run: number) => { args: string[]; dataFolder: string },
): Promise<BenchRow> {
  const floor: number[] = [];
  const ours: number[] = [];
  for (let run = 0; run < runs; run++) {
    const { args, dataFolder } = shopOf(run);
    floor.push(await msToAnswer([bare], "/"));
    ours.push(await msToAnswer([main, ...args], "/api/shop", { COATCLOCK_DATA: dataFolder }));
  }
  return benchRow(
    {
      name: `start → first answer, ${what}`,
      floor: "express, mqtt, aedes, SQLite and zod loaded, and one answer",
      floorValue: median(floor),
      value: median(ours),
      unit: "ms",
    },
    { most: 3 },
  );
}

async function msToAnswer(args: string[], path: string, environment: Record<string, string> = {}): Promise<number> {
  const port = await freePort();
  const startedMs = performance.now();
  const settings = { COATCLOCK_LOG: "silent", ...environment, COATCLOCK_PORT: String(port) };
  return withChild(args, settings, () => firstAnswer(`http://127.0.0.1:${port}${path}`, startedMs));
}

async function firstAnswer(url: string, startedMs: number): Promise<number> {
  for (let tries = 0; tries < 6_000; tries++) {
    const answer = await fetch(url).catch(() => null);
    if (answer?.ok) {
      await answer.arrayBuffer();
      return performance.now() - startedMs;
    }
    await delay(5);
  }
  throw new Error(`no answer from ${url}`);
}
