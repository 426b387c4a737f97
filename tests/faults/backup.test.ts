/** Copies of a real database that is open and written to, and their way back. */
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { FolderMachine, hardware } from "./folder-machine.ts";

let machine: FolderMachine;
beforeEach(() => {
  machine = new FolderMachine();
});
afterEach(() => machine.stop());

describe("backup.sh", () => {
  const rows = 2_000;
  let open: Database.Database[] = [];

  beforeEach(() => {
    mkdirSync(machine.at("var/lib/coatclock"), { recursive: true });
    mkdirSync(machine.at("stick"));
    machine.write("etc/coatclock/shop.yaml", "shop: s\n");
    machine.write("var/lib/coatclock/collectors.yaml", "collectors: {}\n");
    machine.write("var/lib/coatclock/certificates/issued.json", "{}");
    machine.write("var/lib/coatclock/certificates/other.json.unfinished", "{");
    open = ["records.db", "readings.db", "outbox-a.db"].map((name) => {
      const database = new Database(machine.at("var/lib/coatclock", name));
      database.pragma("journal_mode = WAL");
      database.exec("CREATE TABLE coats (id INTEGER PRIMARY KEY, words TEXT NOT NULL) STRICT");
      fill(database, rows);
      return database;
    });
    machine.program("systemctl", "exit 3\n");
  });
  afterEach(() => {
    for (const database of open) database.close();
  });

  function fill(database: Database.Database, count: number): void {
    const insert = database.prepare("INSERT INTO coats (words) VALUES (?)");
    database.transaction(() => {
      for (let n = 0; n < count; n++) insert.run(`coat ${n} `.repeat(10));
    })();
  }
  const backup = (...args: string[]) => machine.run(join(hardware, "backup.sh"), args);
  const copies = () => readdirSync(machine.at("stick")).sort();
  function made(): string {
    const { status, stdout, stderr } = backup("--to", machine.at("stick"), "--same-disk");
    expect(stderr).toBe("");
    expect(status).toBe(0);
    expect(stdout).toMatch(/records\.db: 0\.\d MB, 2000 rows, sound/);
    return machine.at("stick", copies().at(-1) ?? "");
  }

  it("copies what is open and written, with what has not been checkpointed, and the settings", () => {
    const copy = made();
    expect(readdirSync(join(copy, "data/certificates"))).toEqual(["issued.json"]);
    expect(readdirSync(join(copy, "data")).sort()).toEqual([
      "certificates",
      "collectors.yaml",
      "contents.json",
      "readings.db",
      "records.db",
    ]);
    expect(readFileSync(join(copy, "etc/shop.yaml"), "utf8")).toBe("shop: s\n");
    expect(backup("--check", copy).status).toBe(0);
  });

  it("restores into an empty folder a database that opens with every row, and refuses to overwrite records", () => {
    const copy = made();
    for (const database of open.splice(0)) database.close();
    expect(backup("--restore", copy).stderr).toMatch(/records\.db is there and would be lost/);
    rmSync(machine.at("var/lib/coatclock"), { recursive: true });
    rmSync(machine.at("etc/coatclock"), { recursive: true });
    expect(backup("--restore", copy)).toMatchObject({ status: 0, stderr: "" });
    const restored = new Database(machine.at("var/lib/coatclock/records.db"));
    open.push(restored);
    expect(restored.prepare("SELECT count(*) FROM coats").pluck().get()).toBe(rows);
    fill(restored, 1);
    expect(machine.read("etc/coatclock/shop.yaml")).toBe("shop: s\n");
    expect(machine.read("var/lib/coatclock/certificates/issued.json")).toBe("{}");
  });

  it("finds a damaged copy, and does not restore it", () => {
    const copy = made();
    const file = join(copy, "data/records.db");
    const bytes = readFileSync(file);
    bytes.fill(0, 8_192, 12_288);
    writeFileSync(file, bytes);
    expect(backup("--check", copy)).toMatchObject({
      status: 1,
      stderr: expect.stringMatching(/SHA-256 differs/),
    });
    for (const database of open.splice(0)) database.close();
    rmSync(machine.at("var/lib/coatclock"), { recursive: true });
    expect(backup("--restore", copy)).toMatchObject({
      status: 2,
      stderr: expect.stringMatching(/damaged: take another/),
    });
    expect(existsSync(machine.at("var/lib/coatclock/records.db"))).toBe(false);
  });

  it("keeps nothing of a copy of a damaged database, and leaves the earlier copies", () => {
    made();
    const before = copies();
    for (const database of open.splice(0)) database.close();
    const file = machine.at("var/lib/coatclock/records.db");
    const bytes = readFileSync(file);
    bytes.fill(0xff, 4_096, 40_960);
    writeFileSync(file, bytes);
    const { status, stderr } = backup("--to", machine.at("stick"), "--same-disk");
    expect(stderr).toMatch(/the copy failed; the earlier ones/);
    expect(status).toBe(2);
    expect(copies()).toEqual(before);
  });

  it("keeps the last copies only", () => {
    for (const day of [1, 2, 3]) mkdirSync(machine.at("stick", `coatclock-2026-01-0${day}T02-40-00Z`));
    expect(backup("--to", machine.at("stick"), "--same-disk", "--keep", "2").status).toBe(0);
    expect(copies()).toHaveLength(2);
    expect(copies()[0]).toBe("coatclock-2026-01-03T02-40-00Z");
  });

  it("refuses a folder on the data's own disk, since the stick may not be mounted", () => {
    const { status, stderr } = backup("--to", machine.at("stick"));
    expect(stderr).toMatch(/same disk as the data: is the stick mounted/);
    expect(status).toBe(2);
    expect(copies()).toEqual([]);
  });
});
