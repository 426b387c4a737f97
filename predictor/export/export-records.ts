/** The records in open forms: the log as JSON Lines, what it says as CSV, the sheets as YAML. */
import { createWriteStream, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import Database from "better-sqlite3";
import { stringify } from "yaml";
import { type Cell, csvLine } from "../csv.ts";
import { chainRows } from "../records/chain.ts";
import { areProjectionsOfThisVersion } from "../records/projections.ts";

export interface RecordsExported {
  entries: number;
  sheets: number;
  /** By file. */
  rows: Record<string, number>;
}

const withdrawn = `json_extract(withdrawn, '$.atMs') AS withdrawn_at_ms, json_extract(withdrawn, '$.who') AS withdrawn_by,
  json_extract(withdrawn, '$.reason') AS withdrawn_because`;

/** A column that ends in `at_ms` is written as an instant, without the unit in its name. */
const tables: Readonly<Record<string, string>> = {
  "cars.csv": "SELECT id, job, name, colour, promised_at_ms FROM cars ORDER BY rowid",
  "panels.csv": "SELECT car_id, name, substrate FROM panels ORDER BY rowid",
  "moves.csv": "SELECT car_id, at_ms, place, who FROM moves ORDER BY rowid",
  "coats.csv": `SELECT id, car_id, substrate,
      (SELECT group_concat(panel, '; ') FROM (SELECT panel FROM coat_panels WHERE coat_id = coats.id ORDER BY rowid)) AS panels,
      sheet_id, sheet_revision, finished_at_ms, film_um, panel_at_finish_c, batches,
      json_extract(spray_check, '$.state') AS spray_state, who, entered_at_ms, ${withdrawn}
    FROM coats ORDER BY rowid`,
  "checks.csv": `SELECT id, coat_id, stage, at_ms, CASE ready WHEN 1 THEN 'yes' ELSE 'not yet' END AS ready, how, note, who,
      entered_at_ms, ${withdrawn}
    FROM checks ORDER BY rowid`,
  "mixes.csv": `SELECT id, sheet_id, sheet_revision, place, mixed_at_ms, litres, batches, who, emptied_at_ms
    FROM mixes ORDER BY rowid`,
  "sign-offs.csv": "SELECT coat_id, meaning, who, role, at_ms FROM sign_offs ORDER BY rowid",
};

/** All of one moment, though Coatclock may run. Makes the folder; throws where the file can't be read. */
export async function exportRecords(file: string, folder: string): Promise<RecordsExported> {
  const db = openRecords(file);
  try {
    mkdirSync(folder);
    const exported: RecordsExported = { entries: 0, sheets: 0, rows: {} };
    exported.entries = await write(join(folder, "log.jsonl"), logLines(db));
    for (const [name, sql] of Object.entries(tables)) {
      // The first line is the header.
      exported.rows[name] = (await write(join(folder, name), csvLines(db, sql))) - 1;
    }
    const kept = db.prepare<[], { sheet: string }>("SELECT sheet FROM sheets ORDER BY rowid").all();
    const sheets = kept.map(({ sheet }) => JSON.parse(sheet) as unknown);
    writeFileSync(join(folder, "sheets.yaml"), stringify({ sheets }), { flag: "wx" });
    exported.sheets = sheets.length;
    return exported;
  } finally {
    db.close();
  }
}

/** In one transaction, which ends when it is closed. */
function openRecords(file: string): Database.Database {
  const db = new Database(file, { readonly: true, fileMustExist: true });
  try {
    db.exec("BEGIN");
    if (areProjectionsOfThisVersion(db)) return db;
    throw new Error("it is of another version, start Coatclock with it once");
  } catch (error) {
    db.close();
    throw new Error(`${file} can't be exported: ${(error as Error).message}`);
  }
}

/** How many lines were written. */
async function write(file: string, lines: Iterable<string | Buffer>): Promise<number> {
  let count = 0;
  function* counted() {
    for (const line of lines) {
      count++;
      yield line;
    }
  }
  await pipeline(Readable.from(counted()), createWriteStream(file, { flags: "wx" }));
  return count;
}

/** Each entry by the very bytes that its hash was made from. */
function* logLines(db: Database.Database): Generator<Buffer> {
  for (const { entry, hash } of chainRows(db)) {
    yield Buffer.concat([Buffer.from('{"hash":"'), hash, Buffer.from('","entry":'), entry, Buffer.from("}\n")]);
  }
}

function* csvLines(db: Database.Database, sql: string): Generator<string> {
  const select = db.prepare<[], Cell[]>(sql).raw();
  const names = select.columns().map(({ name }) => name);
  const isInstant = names.map((name) => name.endsWith("at_ms"));
  yield csvLine(names.map((name, index) => (isInstant[index] ? name.slice(0, -"_ms".length) : name)));
  for (const row of select.iterate()) {
    yield csvLine(row.map((cell, index) => (isInstant[index] && cell !== null ? isoOf(Number(cell)) : cell)));
  }
}

const isoOf = (atMs: number): string => new Date(atMs).toISOString();
