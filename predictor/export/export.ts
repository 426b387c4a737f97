/** Everything of a shop in open forms, in a folder, while Coatclock runs or not. docs/keeping.md says what is in it. */
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { openSqliteSource } from "../readings/sqlite.ts";
import { exportReadings, type ReadingsExported, type Span } from "./export-readings.ts";
import { exportRecords, type RecordsExported } from "./export-records.ts";

export interface ExportOptions extends Span {
  recordsFile: string;
  /** There may be none yet. */
  readingsFile: string;
  /** Empty, or not there. */
  folder: string;
}

export interface Exported {
  records: RecordsExported;
  readings: ReadingsExported;
}

/** The span is of the readings: records are small, and prove something whole only. */
export async function exportAll({ recordsFile, readingsFile, folder, ...span }: ExportOptions): Promise<Exported> {
  // It holds names and jobs: for whoever asked for it.
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const records = await exportRecords(recordsFile, join(folder, "records"));
  let readings: ReadingsExported = { series: 0, readings: 0, fiveMinutes: 0 };
  if (existsSync(readingsFile)) {
    const source = openSqliteSource(readingsFile);
    try {
      readings = await exportReadings(source, join(folder, "readings"), span);
    } finally {
      await source.close();
    }
  }
  const exported = { records, readings };
  // The last file: where it is missing, the export was cut short.
  writeFileSync(join(folder, "contents.json"), `${JSON.stringify(exported, null, 2)}\n`, { flag: "wx" });
  return exported;
}
