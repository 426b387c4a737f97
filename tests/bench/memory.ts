/** Resident memory of the rehearsal shop, beside the libraries it rests on. COATCLOCK_BENCH_MINUTES says for how long it runs first (2). */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { residentMB, withChild } from "./child.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const minutes = Number(process.env.COATCLOCK_BENCH_MINUTES ?? 2);
/** The collector of garbage comes and goes: the middle of so many looks, a second apart. */
const looks = 15;

export async function memoryBench(): Promise<BenchRow[]> {
  const floor = await residentAfter([resolve(import.meta.dirname, "bare-program.js")], /listening/, {}, 0.25);
  const folder = mkdtempSync(join(tmpdir(), "coatclock-bench-"));
  try {
    const main = resolve(import.meta.dirname, "../../main.js");
    const ours = await residentAfter([main], /readings\s+mqtt/, { COATCLOCK_DATA: folder }, minutes);
    return [
      benchRow(
        {
          name: `memory: the rehearsal shop after ${minutes} min`,
          floor: "express, mqtt, aedes, SQLite and zod loaded and idle",
          floorValue: floor,
          value: ours,
          unit: "MB",
        },
        { most: 2 },
      ),
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function residentAfter(
  args: string[],
  started: RegExp,
  environment: Record<string, string>,
  afterMinutes: number,
): Promise<number> {
  const settings = { COATCLOCK_LOG: "silent", COATCLOCK_PORT: "0", ...environment };
  return withChild(args, settings, (output, { pid }) => {
    if (!started.test(output)) return null;
    return (async () => {
      await delay(afterMinutes * 60_000);
      const seen: number[] = [];
      for (let look = 0; look < looks; look++) {
        seen.push(residentMB(pid));
        await delay(1_000);
      }
      return median(seen);
    })();
  });
}
