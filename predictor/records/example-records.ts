/** Invented records for tests: in memory, with the invented sheets, and people to enter something. */
import type { Sheet } from "../cure/sheet.ts";
import { inventedSheets } from "./library.ts";
import { type By, program, Records, type RecordsOptions } from "./records.ts";

export const painter: By = { who: "an invented painter", role: "painter" };

export function exampleRecords(options: Partial<RecordsOptions> = {}): Records {
  const records = new Records({ file: ":memory:", now: Date.now, clock: () => "synchronised", ...options });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  return records;
}

/** The newest revision of an invented sheet. */
export function inventedSheet(id: string): Sheet {
  const sheet = inventedSheets().find((each) => each.id === id);
  if (sheet === undefined) throw new Error(`no sheet ${id}`);
  return sheet;
}

/** A coat as it is entered when nothing but the finish was noted. */
export const plainCoat = {
  panels: ["bonnet"],
  sheetId: "demo-clear",
  filmUm: null,
  panelAtFinishC: null,
  batches: [],
  sprayCheck: null,
} as const;
