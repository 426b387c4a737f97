import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { ChainWatch } from "./chain-watch.ts";
import { exampleRecords, painter } from "./example-records.ts";
import type { Records } from "./records.ts";

let folder: string;
let file: string;
let records: Records;
let watch: ChainWatch;
let told: (string | null)[];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-chain-watch-"));
  file = join(folder, "records.db");
  records = exampleRecords({ file });
  for (let n = 0; n < 120; n += 1) {
    records.addPersonEvent({ event: "changed", name: "An Invented", change: `change ${n}` }, painter);
  }
  told = [];
  watch = new ChainWatch({ file, onChange: (fault) => told.push(fault) });
});
afterEach(async () => {
  vi.useRealTimers();
  await watch.stop();
  records.close();
  rmSync(folder, { recursive: true, force: true });
});

function tamper(from: string, to: string): void {
  const db = new Database(file);
  const guard = db.prepare("SELECT sql FROM sqlite_schema WHERE name = 'log_is_not_changed'").pluck().get() as string;
  db.exec("DROP TRIGGER log_is_not_changed");
  db.prepare("UPDATE log SET entry = replace(entry, ?, ?)").run(from, to);
  db.exec(guard);
  db.close();
}

it("is silent about a sound log, while entries are made too", async () => {
  watch.start();
  records.addPersonEvent({ event: "changed", name: "An Invented", change: "meanwhile" }, painter);
  await watch.looked();
  expect([watch.fault(), told]).toEqual([null, []]);
});

it("names the first entry that is wrong, far down the log too, and says so once", async () => {
  tamper("change 110", "change 999");
  watch.start();
  await watch.looked();
  expect(watch.fault()).toMatch(/^entry \d+: its text does not have the hash/);
  expect(told).toEqual([watch.fault()]);
});

it("looks again each day, and finds what was changed meanwhile and what was put right", async () => {
  vi.useFakeTimers({ toFake: ["setInterval", "clearInterval"] });
  watch.start();
  await watch.looked();
  tamper("change 3", "change x");
  vi.advanceTimersByTime(24 * 60 * 60_000);
  await watch.looked();
  expect(watch.fault()).toMatch(/^entry \d+/);
  tamper("change x", "change 3");
  vi.advanceTimersByTime(24 * 60 * 60_000);
  await watch.looked();
  expect(told).toEqual([expect.any(String), null]);
});

it("says so when the file can't be read", async () => {
  watch = new ChainWatch({ file: join(folder, "none.db"), onChange: (fault) => told.push(fault) });
  watch.start();
  await watch.looked();
  expect(watch.fault()).toMatch(/^the log can't be read: /);
});
