/** The file of the records, changed byte by byte as a bad card or a curious hand would: it is found, or it did no harm. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, expect, it } from "vitest";
import { exampleRecords, painter, plainCoat } from "../../predictor/records/example-records.ts";
import { verify } from "../../predictor/records/verify.ts";

let folder: string;
let changed: string;
let sound: Buffer;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-records-file-"));
  changed = join(folder, "changed.db");
  const file = join(folder, "records.db");
  const records = exampleRecords({ file, now: () => Date.UTC(2026, 2, 2) });
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  records.addCar({ id: "car", job: "J-1", name: "Grey van", panels, place: "booth", atMs: 1000 }, painter);
  const [coat] = records.addCoats("car", { ...plainCoat, finishedAtMs: 2000 }, painter);
  const check = { coatId: coat?.id ?? "", stage: "demask", atMs: 3000, ready: true, how: "thumb" } as const;
  records.addCheck(check, { ...painter, key: "0123456789abcdef" });
  records.close();
  sound = readFileSync(file);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function write(bytes: Buffer): void {
  for (const suffix of ["-wal", "-shm"]) rmSync(changed + suffix, { force: true });
  writeFileSync(changed, bytes);
}
function withByte(at: number, bits: number): Buffer {
  const bytes = Buffer.from(sound);
  bytes[at] = Number(bytes[at]) ^ bits;
  return bytes;
}
/** Every row of every table; null where they can't be read. */
function contents(): string | null {
  const db = new Database(changed, { readonly: true });
  try {
    const tables = db.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").pluck().all();
    return JSON.stringify(tables.map((table) => [table, db.prepare(`SELECT * FROM ${table} ORDER BY rowid`).all()]));
  } catch {
    return null;
  } finally {
    db.close();
  }
}

it("shows a change of any byte where an entry and its hash lie in the file", () => {
  write(sound);
  expect(verify(changed).faults).toEqual([]);
  const db = new Database(changed, { readonly: true });
  const rows = db
    .prepare<[], { entry: string; hash: string }>("SELECT entry, hash FROM log ORDER BY seq DESC LIMIT 1")
    .all();
  db.close();
  let changes = 0;
  for (const { entry, hash } of rows) {
    const start = sound.indexOf(entry);
    // Entry and hash lie one after the other in the row, after the row's header.
    expect(sound.indexOf(hash, start)).toBe(start + Buffer.byteLength(entry));
    for (let at = start; at < start + Buffer.byteLength(entry) + hash.length; at += 1) {
      write(withByte(at, 1 << (at % 8)));
      if (verify(changed).faults.length === 0) throw new Error(`not found: byte ${at} of the file`);
      changes += 1;
    }
  }
  expect(changes).toBeGreaterThan(400);
}, 120_000);

it("shows a change of any other byte of the file, or nothing that can be read from it has changed", () => {
  write(sound);
  const before = contents();
  const faultless: number[] = [];
  let found = 0;
  for (let at = 3; at < sound.length; at += 307) {
    write(withByte(at, 0x11));
    if (verify(changed).faults.length > 0) found += 1;
    else if (contents() !== before) faultless.push(at);
  }
  expect(faultless).toEqual([]);
  expect(found).toBeGreaterThan(20);
}, 120_000);

it.each([
  ["half", (bytes: number) => bytes / 2],
  ["its last page", (bytes: number) => bytes - 4096],
])("shows a file that lost %s", (_, left) => {
  write(sound.subarray(0, left(sound.length)));
  expect(verify(changed).faults).not.toEqual([]);
});
