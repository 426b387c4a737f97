/**
 * Copies Coatclock's databases while it writes to them, and checks copies: the part of backup.sh that needs SQLite.
 *
 *   node backup-copy.mjs copy DATA_FOLDER NEW_FOLDER
 *   node backup-copy.mjs check FOLDER
 */
import { createHash } from "node:crypto";
import {
  closeSync,
  copyFileSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import Database from "better-sqlite3";

const contentsName = "contents.json";
/** What waits for its receipt is on its way to the store, and a copy of it would be sent again. */
const isWanted = (name) => (name.endsWith(".db") && !name.startsWith("outbox-")) || name.endsWith(".yaml");

/** The files of certificates that were issued: what readings they rest on may be gone from the store. */
const certificatesName = "certificates";

function rowsOf(database) {
  const tables = database
    .prepare("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
    .pluck()
    .all();
  const quoted = (name) => `"${name.replaceAll('"', '""')}"`;
  return Object.fromEntries(
    tables.map((name) => [
      name,
      database
        .prepare(`SELECT count(*) FROM ${quoted(name)}`)
        .pluck()
        .get(),
    ]),
  );
}

/** One read transaction: the copy is of one moment, however long it takes and whatever is written meanwhile. */
function copyDatabase(from, to) {
  const source = new Database(from, { readonly: true, fileMustExist: true, timeout: 30_000 });
  try {
    const before = rowsOf(source);
    source.prepare("VACUUM INTO ?").run(to);
    return { before, after: rowsOf(source) };
  } finally {
    source.close();
  }
}

/** Every page and every row; throws in words when something is wrong. */
function soundRowsOf(file) {
  const database = new Database(file, { readonly: true, fileMustExist: true });
  try {
    const said = database.pragma("integrity_check", { simple: true });
    if (said !== "ok") throw new Error(`${file} is damaged: ${said}`);
    return rowsOf(database);
  } finally {
    database.close();
  }
}

const digestOf = (file) => createHash("sha256").update(readFileSync(file)).digest("hex");

/** Until the disk has it. */
function settle(file) {
  const handle = openSync(file, "r+");
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

function copyFile(dataFolder, folder, name) {
  const to = join(folder, name);
  copyFileSync(join(dataFolder, name), to);
  settle(to);
  return { name, bytes: statSync(to).size, sha256: digestOf(to) };
}

function copy(dataFolder, folder) {
  const names = readdirSync(dataFolder).filter(isWanted).sort();
  if (!names.includes("records.db")) throw new Error(`${dataFolder} holds no records.db: there is nothing to copy.`);
  const files = names.map((name) => {
    const to = join(folder, name);
    if (!name.endsWith(".db")) return copyFile(dataFolder, folder, name);
    const { before, after } = copyDatabase(join(dataFolder, name), to);
    settle(to);
    const rows = soundRowsOf(to);
    for (const [table, count] of Object.entries(before)) {
      if (!((rows[table] ?? -1) >= Math.min(count, after[table] ?? 0))) {
        throw new Error(`${to}: table ${table} has ${rows[table] ?? "no"} rows, and ${name} has ${count}.`);
      }
    }
    return { name, bytes: statSync(to).size, sha256: digestOf(to), rows };
  });
  // After the log: a certificate's file is there before its entry is, so none that the copied log names is missed.
  if (existsSync(join(dataFolder, certificatesName))) {
    mkdirSync(join(folder, certificatesName));
    const issued = readdirSync(join(dataFolder, certificatesName)).filter((name) => name.endsWith(".json"));
    files.push(...issued.sort().map((name) => copyFile(dataFolder, folder, join(certificatesName, name))));
  }
  const contents = join(folder, contentsName);
  writeFileSync(contents, `${JSON.stringify({ madeAt: new Date().toISOString(), files }, null, 2)}\n`);
  settle(contents);
  check(folder);
}

function check(folder) {
  const { madeAt, files } = JSON.parse(readFileSync(join(folder, contentsName), "utf8"));
  for (const { name, bytes, sha256, rows } of files) {
    const file = join(folder, name);
    if (digestOf(file) !== sha256) throw new Error(`${file} is not what was copied: its SHA-256 differs.`);
    if (rows === undefined) continue;
    const found = soundRowsOf(file);
    for (const [table, count] of Object.entries(rows)) {
      if (found[table] !== count)
        throw new Error(`${file}: table ${table} has ${found[table]} rows, expected ${count}.`);
    }
    const total = Object.values(rows).reduce((sum, count) => sum + count, 0);
    console.log(`  ${name}: ${(bytes / 1e6).toFixed(1)} MB, ${total} rows, sound`);
  }
  console.log(`  made ${madeAt}`);
}

const [task, ...folders] = process.argv.slice(2);
try {
  if (task === "copy" && folders.length === 2) copy(...folders);
  else if (task === "check" && folders.length === 1) check(...folders);
  else throw new Error("expected: copy DATA_FOLDER NEW_FOLDER, or check FOLDER");
} catch (error) {
  console.error(error instanceof Error ? error.message : error);
  process.exitCode = 1;
}
