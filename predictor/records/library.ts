/** Sheets from YAML files: the invented library and the files that a shop names. */
import { resolve } from "node:path";
import { z } from "zod";
import { readSheet } from "../cure/ladder.ts";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import { FileFaults, readYamlFile } from "../yaml-file.ts";

const libraryFile = resolve(import.meta.dirname, "invented-sheets.yaml");
const fileSchema = z.strictObject({ sheets: z.array(sheetSchema).min(1) });

/** Reads the sheets of one file; throws FileFaults with every fault, those of the ladder included. */
export function readSheetFile(file: string): Sheet[] {
  const { value, fault } = readYamlFile(file, fileSchema);
  const faults = value.sheets.flatMap((sheet, index) => {
    const read = readSheet(sheet);
    return "faults" in read
      ? read.faults.map((each) => fault(["sheets", index, ...each.path.split(".")], each.expected, each.found))
      : [];
  });
  if (faults.length > 0) throw new FileFaults(file, faults);
  return value.sheets;
}

export function inventedSheets(): Sheet[] {
  return readSheetFile(libraryFile);
}
