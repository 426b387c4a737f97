/** The records and kill -9 at any moment: what was acknowledged is there, and the log and the tables are sound. */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, it } from "vitest";
import { verify } from "../../predictor/records/verify.ts";

const compiled = resolve(import.meta.dirname, "../../dist/predictor/records");
const writer = resolve(import.meta.dirname, "records-writer.mjs");
/** `npm run soak -- --faults` asks for 200. */
const kills = Number(process.env.COATCLOCK_KILLS ?? 40);
/** Looking through all of a log that grows takes longer each time; whether each entry is there is looked at every time. */
const verifiedEvery = 20;

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-records-kill-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Writes until it is killed; gives the lines that it printed whole. */
async function writeAndKill(file: string, whileStarting: boolean): Promise<string[]> {
  const child = spawn(process.execPath, [writer, compiled, file], { stdio: ["ignore", "pipe", "pipe"] });
  let printed = "";
  let errors = "";
  child.stdout.on("data", (data) => {
    printed += data;
  });
  child.stderr.on("data", (data) => {
    errors += data;
  });
  const closed = once(child, "close");
  if (!whileStarting) await Promise.race([once(child.stdout, "data"), closed]);
  await delay(Math.random() * (whileStarting ? 400 : 250));
  child.kill("SIGKILL");
  await closed;
  expect(errors).toBe("");
  return printed.split("\n").slice(0, -1);
}

function hashesFrom(file: string): Map<number, string> {
  const db = new Database(file, { readonly: true });
  try {
    const rows = db.prepare<[], { seq: number; hash: string }>("SELECT seq, hash FROM log").all();
    return new Map(rows.map(({ seq, hash }) => [seq, hash]));
  } finally {
    db.close();
  }
}

/** Kills whoever writes to a file again and again; gives how many entries were acknowledged. */
async function killAgainAndAgain(file: string, times: number): Promise<number> {
  const acknowledged = new Map<number, string>();
  for (let n = 1; n <= times; n += 1) {
    for (const line of await writeAndKill(file, n % 5 === 0)) {
      const [seq, hash] = line.split(" ");
      acknowledged.set(Number(seq), String(hash));
    }
    const kept = hashesFrom(file);
    expect([...acknowledged].filter(([seq, hash]) => kept.get(seq) !== hash)).toEqual([]);
    if (n % verifiedEvery === 0 || n === times) {
      expect(verify(file)).toMatchObject({ faults: [], entries: kept.size });
    }
  }
  return acknowledged.size;
}

it(
  `every acknowledged entry is there after each of ${kills} kills of whoever writes, and nothing is torn`,
  async () => {
    // Two files side by side: the time goes into starting.
    const counts = await Promise.all(
      ["one.db", "two.db"].map((name) => killAgainAndAgain(join(folder, name), Math.ceil(kills / 2))),
    );
    // Else nothing was written, and this shows nothing.
    for (const count of counts) expect(count).toBeGreaterThan(kills * 2);
  },
  60_000 + kills * 5_000,
);
