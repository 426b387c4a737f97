/** A coat with what came of it, as the book of coats holds it and a head office is told it. */
import { z } from "zod";
import { nameSchema } from "../../collector/readings.ts";
import { stageNameSchema } from "../cure/sheet.ts";
import { type CoatFigures, deviationCodes } from "./coat-figures.ts";

const spreadSchema = z.object({
  min: z.number(),
  mean: z.number(),
  max: z.number(),
  minutesOutside: z.number().nullable(),
});

const figuresSchema: z.ZodType<CoatFigures> = z.object({
  releaseStage: stageNameSchema,
  untilMs: z.number(),
  isOver: z.boolean(),
  airC: spreadSchema.nullable(),
  panelC: spreadSchema.nullable(),
  rhPercent: spreadSchema.nullable(),
  dewMarginC: spreadSchema.nullable(),
  gapMinutes: z.number(),
  stages: z.array(
    z.object({
      stage: stageNameSchema,
      likelyAtMs: z.number().nullable(),
      safeAtMs: z.number().nullable(),
      readyCheckedAtMs: z.number().nullable(),
      notYetCheckedAtMs: z.number().nullable(),
    }),
  ),
  coveredAtMs: z.number().nullable(),
  waitedMinutes: z.number().nullable(),
  deviations: z.array(z.enum(deviationCodes)),
});

export const bookRowSchema = z.object({
  /** Ids of cars and coats meet only once within a shop. */
  shop: nameSchema,
  coat: z.string().min(1),
  carId: z.string().min(1),
  job: z.string(),
  car: z.string(),
  panels: z.array(z.string()),
  sheetId: z.string(),
  sheetRevision: z.number().int(),
  sheetName: z.string(),
  kind: z.string(),
  invented: z.boolean(),
  /** Where it was finished. */
  place: z.string(),
  who: z.string(),
  finishedAtMs: z.number(),
  /** When its release stage is safe; null while nobody can say. */
  safeAtMs: z.number().nullable(),
  verdict: z.enum(["released", "held"]).nullable(),
  isWithdrawn: z.boolean(),
  deviations: z.array(z.object({ code: z.enum(deviationCodes), isAnswered: z.boolean() })),
  figures: figuresSchema,
});
export type BookRow = z.infer<typeof bookRowSchema>;

export const bookStates = ["drying", "ready", "released", "held", "withdrawn"] as const;
export type BookState = (typeof bookStates)[number];

/** How a coat stands at an instant. */
export function bookState(row: Pick<BookRow, "isWithdrawn" | "verdict" | "safeAtMs">, nowMs: number): BookState {
  if (row.isWithdrawn) return "withdrawn";
  return row.verdict ?? (row.safeAtMs !== null && row.safeAtMs <= nowMs ? "ready" : "drying");
}
