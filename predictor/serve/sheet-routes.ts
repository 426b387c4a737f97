/** The routes of sheets as they are written, revised and approved. What a coat takes is the newest approved revision. */
import { z } from "zod";
import { text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { buildLadder, readSheet } from "../cure/ladder.ts";
import { ladderPicture } from "../cure/ladder-picture.ts";
import type { Sheet } from "../cure/sheet.ts";
import { SheetFault } from "../cure/sheet-fault.ts";
import type { FaultLine } from "../faults.ts";
import { readSheetText, sheetText } from "../records/library.ts";
import { canonical } from "../records/log.ts";
import type { KeptSheet, Records } from "../records/records.ts";
import { FileFaults } from "../yaml-file.ts";
import { HttpProblem } from "./problem.ts";
import { download, entry, type Route, route } from "./route.ts";
import {
  draftAnswerSchema,
  draftSchema,
  newSheetSchema,
  type RevisionView,
  readDraftsAnswerSchema,
  readDraftsSchema,
  type SheetFile,
  type SheetFiles,
  sheetFileSchema,
  sheetFilesSchema,
} from "./sheet-api.ts";
import { changesBetween, faultText, fieldName } from "./sheet-words.ts";

export interface SheetRouteParts {
  records: Records;
}

/** Some fifteen sheets. Longer ones of ill will, such as thousands of keys, would keep the machine busy for seconds. */
const yamlAtMost = 20_000;

const ofRevision = z.object({ sheet: z.string(), revision: z.coerce.number().int().positive() });
const isoOf = (ms: number) => new Date(ms).toISOString();
const newestFirst = (a: KeptSheet, b: KeptSheet) => b.sheet.revision - a.sheet.revision;

export function sheetRoutes({ records }: SheetRouteParts): Route[] {
  const fileOf = ({ sheet }: KeptSheet, words: Words): SheetFile => {
    const kept = keptOf(records, sheet.id);
    const before = kept.find((each) => each.sheet.revision < sheet.revision)?.sheet;
    return {
      sheet,
      ladder: ladderPicture(sheet, buildLadder(sheet)),
      revisions: revisionsOf(records, kept),
      newestApproved: newestApprovedOf(kept)?.sheet.revision ?? null,
      next: records.nextRevision(sheet.id),
      changes: before === undefined ? null : changesBetween(before, sheet, words),
    };
  };
  const kept = ({ sheet, revision }: z.infer<typeof ofRevision>) => records.keptSheet(sheet, revision);

  return [
    route({
      method: "get",
      path: "/api/sheet-files",
      summary: "Every sheet with all its revisions: author, approval, and how many coats rest on each",
      response: sheetFilesSchema,
      handle: () => sheetFiles(records),
    }),
    route({
      method: "get",
      path: "/api/sheet-files/{sheet}/{revision}",
      summary: "One revision of a sheet with its picture, its history, and what differs from the revision before",
      params: ofRevision,
      response: sheetFileSchema,
      handle: ({ params, words }) => fileOf(kept(params), words),
    }),
    download({
      path: "/api/sheet-files/{sheet}/{revision}/yaml",
      summary: "One revision of a sheet as a file, in the form that shop files name",
      params: ofRevision,
      mediaType: "application/yaml",
      handle: ({ params }) => {
        const { sheet } = kept(params);
        return { name: `${sheet.id}-${sheet.revision}.yaml`, bytes: Buffer.from(sheetText([sheet])) };
      },
    }),
    route({
      method: "post",
      path: "/api/sheet-drafts/check",
      summary: "All that does not fit in a draft, at its fields; where it is sound, its picture. Nothing is kept",
      body: draftSchema,
      response: draftAnswerSchema,
      handle: ({ body, words }) => {
        const read = readSheet(body.sheet);
        const { id, revision } = (body.sheet ?? {}) as { id?: unknown; revision?: unknown };
        const next = typeof id === "string" ? records.nextRevision(id) : 1;
        const faults = [...("faults" in read ? read.faults : []), ...(revision === 1 && next > 1 ? [idTaken(id)] : [])];
        return {
          faults: faults.map((fault) => ({
            path: fault.path,
            field: fieldName(fault.path, words, body.sheet),
            text: faultText(fault, words),
            expected: fault.expected,
            found: fault.found,
            isMissing: fault.found === "nothing" && fault.text === undefined,
          })),
          ladder: "faults" in read ? null : ladderPicture(read.sheet, read.ladder),
          next,
        };
      },
    }),
    route({
      method: "post",
      path: "/api/sheet-drafts/read",
      summary: "The sheets of a YAML text, or its faults with line and key. Nothing is kept",
      body: readDraftsSchema,
      response: readDraftsAnswerSchema,
      handle: ({ body, words }) => {
        if (body.yaml.length > yamlAtMost) {
          throw new HttpProblem(413, text("sheets.read-too-long", { most: yamlAtMost, found: body.yaml.length }));
        }
        try {
          const sheets = readSheetText(body.yaml, "yaml").map((sheet) => ({
            sheet,
            next: records.nextRevision(sheet.id),
            isKeptAlready: keptOf(records, sheet.id).some((each) => canonical(each.sheet) === canonical(sheet)),
          }));
          return { sheets, faults: [] };
        } catch (error) {
          if (!(error instanceof FileFaults)) throw error;
          const faults = error.faults.map(({ line, key, expected, found, text: said }) => ({
            ...{ line, key },
            text: faultText(
              { path: key.replace(/^sheets\.\d+\./, ""), expected, found, ...(said && { text: said }) },
              words,
            ),
          }));
          return { sheets: [], faults };
        }
      },
    }),
    entry({
      method: "post",
      path: "/api/sheet-files",
      summary: "Keeps a new sheet, or the next revision of one; it waits for approval",
      roles: ["quality", "installer"],
      body: newSheetSchema,
      response: sheetFileSchema,
      handle: ({ body, by, words }) => {
        refuseUnsound(body.sheet);
        records.keepSheet(body.sheet, by, body.reason);
        return fileOf(records.keptSheet(body.sheet.id, body.sheet.revision), words);
      },
    }),
    entry({
      method: "post",
      path: "/api/sheet-files/{sheet}/{revision}/approval",
      summary: "Approves a revision: new coats take it from now on",
      roles: ["quality"],
      params: ofRevision,
      body: z.strictObject({}),
      response: sheetFileSchema,
      handle: ({ params, by, words }) => fileOf(records.approveSheet(params.sheet, params.revision, by), words),
    }),
  ];
}

function keptOf(records: Records, id: string): KeptSheet[] {
  return records
    .keptSheets()
    .filter(({ sheet }) => sheet.id === id)
    .sort(newestFirst);
}

const newestApprovedOf = (kept: readonly KeptSheet[]) => kept.find(({ approved }) => approved !== null);

/** `kept` newest first. */
function revisionsOf(records: Records, kept: readonly KeptSheet[]): RevisionView[] {
  const laid = records.coatsLaid();
  return kept.map(({ sheet, who, role, keptAtMs, reason, approved }) => ({
    ...{ revision: sheet.revision, name: sheet.name, who, role, reason, at: isoOf(keptAtMs) },
    approved:
      approved === null ? null : { who: approved.who, at: isoOf(approved.atMs), isByAuthor: approved.who === who },
    coats: laid.find((each) => each.sheetId === sheet.id && each.revision === sheet.revision)?.count ?? 0,
  }));
}

function sheetFiles(records: Records): SheetFiles {
  const ids = [...new Set(records.keptSheets().map(({ sheet }) => sheet.id))];
  const sheets = ids.map((id) => {
    const kept = keptOf(records, id);
    const approved = newestApprovedOf(kept);
    const { name, kind, invented } = (approved ?? (kept[0] as KeptSheet)).sheet;
    return {
      ...{ id, name, kind, invented },
      newestApproved: approved?.sheet.revision ?? null,
      waiting: kept.filter((each) => each.approved === null).map(({ sheet }) => sheet.revision),
      revisions: revisionsOf(records, kept),
    };
  });
  return { sheets: sheets.sort((a, b) => a.name.localeCompare(b.name)) };
}

function idTaken(id: unknown): FaultLine {
  return {
    path: "id",
    expected: "an id that no sheet here has",
    found: String(id),
    text: { key: "sheet-fault.id-taken", values: { id: String(id) } },
  };
}

function refuseUnsound(sheet: Sheet): void {
  try {
    buildLadder(sheet);
  } catch (error) {
    if (!(error instanceof SheetFault)) throw error;
    const faults = error.faults.map(({ path, expected, found }) => ({ path: `body.sheet.${path}`, expected, found }));
    throw new HttpProblem(400, `The sheet does not hold together: ${error.message}`, faults);
  }
}
