/** Everything of a shop in open forms, in a folder, while Coatclock runs or not. docs/keeping.md says what is in it. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Span } from "../readings/days.ts";
import type { ReadingSource } from "../readings/store.ts";
import { exportReadings, type ReadingsExported } from "./export-readings.ts";
import { exportRecords, type RecordsExported } from "./export-records.ts";

export interface ExportOptions extends Span {
  recordsFile: string;
  /** Null where none are stored yet. */
  source: ReadingSource | null;
  /** Empty, or not there. */
  folder: string;
}

export interface Exported {
  records: RecordsExported;
  readings: ReadingsExported;
}

/** The span is of the readings: records are small, and prove something whole only. */
export async function exportAll({ recordsFile, source, folder, ...span }: ExportOptions): Promise<Exported> {
  // It holds names and jobs: for whoever asked for it.
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const records = await exportRecords(recordsFile, join(folder, "records"));
  const readings: ReadingsExported =
    source === null
      ? { series: 0, readings: 0, fiveMinutes: 0 }
      : await exportReadings(source, join(folder, "readings"), span);
  const exported = { records, readings };
  // The last file: where it is missing, the export was cut short.
  writeFileSync(join(folder, "contents.json"), `${JSON.stringify(exported, null, 2)}\n`, { flag: "wx" });
  return exported;
}
