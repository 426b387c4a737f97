/** The contract of the log and of one coat's file: what came of each coat, where it went off its sheet, who released it. */
import { z } from "zod";
import { stageNameSchema } from "../cure/sheet.ts";
import { deviationCodes } from "../proof/coat-figures.ts";
import { byRoles } from "../records/records.ts";
import { coatViewSchema, placeSchema } from "./api.ts";

const instant = z.iso.datetime({ offset: true });
const id = z.string().min(1).max(64);

/** `drying` until its release stage is safe; then `ready` until somebody releases or holds it. */
export const fileStates = ["drying", "ready", "released", "held", "withdrawn"] as const;
export type FileState = (typeof fileStates)[number];

const spread = z.object({
  min: z.number(),
  /** Over time. */
  mean: z.number(),
  max: z.number(),
  /** Outside the sheet's limits; null where it prints none. */
  minutesOutside: z.number().nullable(),
});
export type SpreadView = z.infer<typeof spread>;

/** Of the time that counts: from the finish until the release stage is safe, the next coat lies on it, the car has left, or now. */
export const figuresSchema = z.object({
  releaseStage: stageNameSchema,
  until: instant,
  /** Nothing that is still to come changes them. */
  isOver: z.boolean(),
  airC: spread.nullable(),
  panelC: spread.nullable(),
  rhPercent: spread.nullable(),
  /** Panel minus dew point. */
  dewMarginC: spread.nullable(),
  gapMinutes: z.number(),
  stages: z.array(
    z.object({
      stage: stageNameSchema,
      likelyAt: instant.nullable(),
      safeAt: instant.nullable(),
      readyCheckedAt: instant.nullable(),
      notYetCheckedAt: instant.nullable(),
    }),
  ),
  coveredAt: instant.nullable(),
  waitedMinutes: z.number().nullable(),
});
export type FiguresView = z.infer<typeof figuresSchema>;

export const deviationViewSchema = z.object({
  code: z.enum(deviationCodes),
  /** In words, with its figures: "13 min without a reading". */
  text: z.string(),
  /** All that was answered to it, oldest first; it counts as answered with the first. */
  answers: z.array(z.object({ answer: z.string(), who: z.string(), at: instant })),
});
export type DeviationView = z.infer<typeof deviationViewSchema>;

export const logSorts = ["finished", "car", "sheet", "place", "who", "deviations", "state"] as const;

/** Every filter that is given must fit. */
export const logQuerySchema = z.object({
  /** Finished at or after, and before. */
  from: instant.optional(),
  to: instant.optional(),
  /** Part of the job number or of the car's name, whatever the case. */
  car: z.string().trim().min(1).max(60).optional(),
  panel: z.string().min(1).max(60).optional(),
  sheet: id.optional(),
  /** Where it was finished. */
  place: id.optional(),
  who: z.string().min(1).max(60).optional(),
  /** One of the codes; `any`, or `open`: one that nobody answered. */
  deviation: z.enum([...deviationCodes, "any", "open"]).optional(),
  state: z.enum(fileStates).optional(),
  sort: z.enum(logSorts).default("finished"),
  order: z.enum(["down", "up"]).default("down"),
});
export type LogQuery = z.infer<typeof logQuerySchema>;
export const logPageQuerySchema = logQuerySchema.extend({
  page: z.coerce.number().int().min(1).default(1),
  size: z.coerce.number().int().min(1).max(200).default(50),
});

export const logRowSchema = z.object({
  coat: id,
  carId: id,
  job: z.string(),
  car: z.string(),
  panels: z.array(z.string()),
  sheet: z.object({ id, revision: z.number(), name: z.string(), kind: z.string(), invented: z.boolean() }),
  /** Where it was finished; null when the place is not in the shop file any more. */
  place: placeSchema.nullable(),
  finishedAt: instant,
  who: z.string(),
  state: z.enum(fileStates),
  releaseStage: stageNameSchema,
  /** When its release stage is safe; null while nobody can say. */
  safeAt: instant.nullable(),
  deviations: z.array(z.object({ code: z.enum(deviationCodes), isAnswered: z.boolean() })),
  /** Of the time that counts. */
  airC: spread.nullable(),
  rhPercent: spread.nullable(),
});
export type LogRow = z.infer<typeof logRowSchema>;

export const logSchema = z.object({
  rows: z.array(logRowSchema),
  /** How many fit, on all pages. */
  total: z.number(),
  page: z.number(),
  pages: z.number(),
  /** Of so many coats the figures are still being worked out; they are not in the log yet. */
  pending: z.number(),
  /** What one can filter by, over all coats. */
  choices: z.object({
    panels: z.array(z.string()),
    sheets: z.array(z.object({ id, name: z.string() })),
    people: z.array(z.string()),
  }),
});
export type LogView = z.infer<typeof logSchema>;

/** An entry of the log about a coat or its car. */
const entryViewSchema = z.object({
  seq: z.number(),
  at: instant,
  clock: z.string(),
  who: z.string(),
  role: z.enum(byRoles),
  kind: z.string(),
  /** In words, in the reader's language. */
  text: z.string(),
  hash: z.string(),
});
export type EntryView = z.infer<typeof entryViewSchema>;

/** All that a quality lead looks at before releasing. */
export const coatFileSchema = z.object({
  coat: coatViewSchema,
  state: z.enum(fileStates),
  figures: figuresSchema,
  deviations: z.array(deviationViewSchema),
  /** Who released or holds it, and what they said. */
  verdict: z
    .object({
      state: z.enum(["released", "held"]),
      words: z.string(),
      who: z.string(),
      role: z.enum(byRoles),
      at: instant,
    })
    .nullable(),
  /** Why it can't be released now, in words; null when it can. */
  notYet: z.string().nullable(),
  /** Oldest first, those of the car's moves too. */
  entries: z.array(entryViewSchema),
  /** Warnings about the coat, or about the place while it stood there. */
  warnings: z.array(
    z.object({
      text: z.string(),
      from: instant,
      to: instant.nullable(),
      answer: z.object({ who: z.string(), done: z.string(), at: instant }).nullable(),
    }),
  ),
  certificates: z.array(z.object({ digest: z.string(), at: instant, who: z.string(), coats: z.number() })),
  /** The last entry of the log, which vouches for all before it. */
  head: z.object({ seq: z.number(), hash: z.string() }),
});
export type CoatFile = z.infer<typeof coatFileSchema>;

export const holdSchema = z.strictObject({ reason: z.string().trim().min(3).max(200) });
export const deviationAnswerSchema = z.strictObject({
  deviation: z.enum(deviationCodes),
  answer: z.string().trim().min(3).max(200),
});
