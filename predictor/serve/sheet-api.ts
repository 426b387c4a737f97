/** The contract of the sheets' pages: every revision with its author and approval, the picture of a sheet, and drafts. */
import { z } from "zod";
import { sheetSchema, stageNameSchema, waitsForSchema } from "../cure/sheet.ts";
import { byRoles } from "../records/records.ts";

const instant = z.iso.datetime({ offset: true });
const minutes = z.number().nullable();

export type StageName = z.infer<typeof stageNameSchema>;
export type WaitsFor = z.infer<typeof waitsForSchema>;

/** When each stage is likely with panel and air at a temperature for good, minutes after the finish. */
export const ladderPictureSchema = z.object({
  /** Rising. */
  atC: z.array(z.number()),
  /** What the sheet covers; beyond it times are carried on. */
  coversC: z.object({ from: z.number(), to: z.number() }),
  /** What the curves hold for beside the temperature. */
  rhPercent: z.number(),
  airSpeedMps: z.number(),
  filmUm: z.number(),
  stages: z.array(
    z.object({
      stage: stageNameSchema,
      /** Null where kinetics give the times. */
      by: waitsForSchema.nullable(),
      curePercent: z.number(),
      /** Whether stage and percentage stand on the sheet; if not, they are what is usual (assumed). */
      isPrinted: z.boolean(),
      isPercentPrinted: z.boolean(),
      anchors: z.array(z.object({ tempC: z.number(), minutes: z.number() })),
      /** At each of `atC`; null where it is not reached within a year. */
      minutes: z.array(minutes),
      /** What the slope between two printed temperatures comes to. */
      energies: z.array(z.object({ fromC: z.number(), toC: z.number(), kJ: z.number() })),
    }),
  ),
  /** 20 °C, or the temperature nearest to it that the sheet covers. */
  reference: z.object({ tempC: z.number(), minutes: z.array(minutes) }),
  /** At the reference temperature. */
  windows: z.array(z.object({ for: z.string(), opensMinutes: minutes, closesMinutes: minutes, ifMissed: z.string() })),
});
export type LadderView = z.infer<typeof ladderPictureSchema>;

export const revisionSchema = z.object({
  revision: z.number(),
  name: z.string(),
  /** Who wrote it: a person, or the program that read it from a file. */
  who: z.string(),
  role: z.enum(byRoles),
  at: instant,
  /** What was changed and why, in the author's words. */
  reason: z.string().nullable(),
  /** Null while it waits: new coats do not take it. */
  approved: z.object({ who: z.string(), at: instant, isByAuthor: z.boolean() }).nullable(),
  /** Coats that rest on it, without those taken back. */
  coats: z.number(),
});
export type RevisionView = z.infer<typeof revisionSchema>;

export const sheetFilesSchema = z.object({
  /** By name. */
  sheets: z.array(
    z.object({
      id: z.string(),
      /** As in the newest approved revision, or in the newest where none is approved. */
      name: z.string(),
      kind: z.string(),
      invented: z.boolean(),
      /** What new coats take; null while none is approved. */
      newestApproved: z.number().nullable(),
      waiting: z.array(z.number()),
      /** Newest first. */
      revisions: z.array(revisionSchema),
    }),
  ),
});
export type SheetFiles = z.infer<typeof sheetFilesSchema>;

export const sheetFileSchema = z.object({
  sheet: sheetSchema,
  ladder: ladderPictureSchema,
  /** Newest first, this one among them. */
  revisions: z.array(revisionSchema),
  newestApproved: z.number().nullable(),
  /** The revision that the next change makes. */
  next: z.number(),
  /** What differs from the revision before; null in the first one kept. The names of fields are in the reader's language. */
  changes: z
    .array(z.object({ field: z.string(), was: z.string().nullable(), became: z.string().nullable() }))
    .nullable(),
});
export type SheetFile = z.infer<typeof sheetFileSchema>;

/** A draft may be anything: what does not fit in it is the answer. */
export const draftSchema = z.strictObject({ sheet: z.unknown() });
export const draftAnswerSchema = z.object({
  faults: z.array(
    z.object({
      /** Keys joined by dots, as docs/sheets.md names them. */
      path: z.string(),
      /** The field's name, and the fault as a sentence, in the reader's language. */
      field: z.string(),
      text: z.string(),
      expected: z.string(),
      found: z.string(),
      /** Nothing stands there yet. */
      isMissing: z.boolean(),
    }),
  ),
  /** Null while there are faults. */
  ladder: ladderPictureSchema.nullable(),
  /** The revision that may be kept next under the draft's id; 1 where there is no such sheet. */
  next: z.number(),
});
export type DraftAnswer = z.infer<typeof draftAnswerSchema>;
export type DraftFault = DraftAnswer["faults"][number];

export const newSheetSchema = z.strictObject({
  sheet: sheetSchema,
  /** What was changed and why. */
  reason: z.string().trim().min(3).max(400).optional(),
});

export const readDraftsSchema = z.strictObject({ yaml: z.string() });
export const readDraftsAnswerSchema = z.object({
  /** As the file has them, with the revision that each would be kept as here. */
  sheets: z.array(z.object({ sheet: sheetSchema, next: z.number(), isKeptAlready: z.boolean() })),
  faults: z.array(z.object({ line: z.number(), key: z.string(), text: z.string() })),
});
export type ReadDrafts = z.infer<typeof readDraftsAnswerSchema>;
