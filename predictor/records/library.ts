/** Sheets from YAML files: the invented library and the files that a shop names. */
import { resolve } from "node:path";
import { Document, visit } from "yaml";
import { z } from "zod";
import { readSheet } from "../cure/ladder.ts";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import { FileFaults, readYaml, readYamlFile, type YamlFile } from "../yaml-file.ts";

const libraryFile = resolve(import.meta.dirname, "invented-sheets.yaml");
const fileSchema = z.strictObject({ sheets: z.array(sheetSchema).min(1) });

/** Reads the sheets of one file; throws FileFaults with every fault, those of the ladder included. */
export function readSheetFile(file: string): Sheet[] {
  return soundSheets(file, readYamlFile(file, fileSchema));
}

/** The same for a text that a person hands in; `name` is what its faults call it. */
export function readSheetText(text: string, name: string): Sheet[] {
  return soundSheets(name, readYaml(text, name, fileSchema));
}

function soundSheets(file: string, { value, fault }: YamlFile<z.output<typeof fileSchema>>): Sheet[] {
  const faults = value.sheets.flatMap((sheet, index) => {
    const read = readSheet(sheet);
    return "faults" in read
      ? read.faults.map((each) =>
          fault(["sheets", index, ...each.path.split(".")], each.expected, each.found, each.text),
        )
      : [];
  });
  if (faults.length > 0) throw new FileFaults(file, faults);
  return value.sheets;
}

/** Sheets as a file's text; read again they are the same. A row, such as a stage, stands on one line. */
export function sheetText(sheets: readonly Sheet[]): string {
  const document = new Document({ sheets });
  visit(document, {
    Map: (_key, node, within) => {
      if (within.length > ofSheetsOwn) node.flow = true;
    },
  });
  return document.toString({ lineWidth: 0 });
}
/** So many nodes hold what is a sheet's own: the document, its map, the pair, the list, the sheet, the pair. */
const ofSheetsOwn = 6;

export function inventedSheets(): Sheet[] {
  return readSheetFile(libraryFile);
}
