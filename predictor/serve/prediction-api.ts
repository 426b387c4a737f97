/** The contract of the page that says how well the predictions hold. Deviations are ln(actual ÷ told likely), times counted from the finish. */
import { z } from "zod";
import { stageNameSchema } from "../cure/sheet.ts";
import { bracketKinds } from "../proof/brackets.ts";
import { placeSchema } from "./api.ts";

const instant = z.iso.datetime({ offset: true });
const id = z.string().min(1).max(64);

/** Coats finished at `from` or later and before `to`; the last 90 days when absent. */
export const predictionQuerySchema = z.object({
  from: instant.optional(),
  to: instant.optional(),
  sheet: id.optional(),
  /** Of a check, where the coat stood then; of a coat, where it was finished. */
  place: id.optional(),
});

/** What can be had as a table. */
export const predictionTables = ["pairs", "learned", "calibration", "control", "coats"] as const;
export const predictionTableQuerySchema = predictionQuerySchema.extend({
  table: z.enum(predictionTables).default("pairs"),
});

const pair = z.object({
  coat: id,
  place: placeSchema.nullable(),
  stage: stageNameSchema,
  /** `between` two checks; found ready only, or not yet only: bounded on one side. */
  kind: z.enum(bracketKinds),
  notYetAt: instant.nullable(),
  readyAt: instant.nullable(),
  /** As it was told just before the first of the two; null where it was not kept, or no longer holds. */
  toldLikelyAt: instant.nullable(),
  toldSafeAt: instant.nullable(),
  /** The deviation lies above the one and at or below the other; null: no bound. */
  lnLow: z.number().nullable(),
  lnHigh: z.number().nullable(),
  /** Whether a deviation can be told at all. */
  isTold: z.boolean(),
});
export type PairView = z.infer<typeof pair>;

const agreement = z.object({
  /** Null: all places together. */
  place: placeSchema.nullable(),
  between: z.number(),
  readyOnly: z.number(),
  notYetOnly: z.number(),
  untold: z.number(),
  /** Null where too few are bounded on both sides. */
  fit: z
    .object({
      /** Median of actual ÷ told likely, and its 95 % interval. */
      ratio: z.number(),
      ratioLow: z.number(),
      ratioHigh: z.number(),
      /** Standard deviation of the deviation; null where one value fits all. */
      sigma: z.number().nullable(),
    })
    .nullable(),
});
export type AgreementView = z.infer<typeof agreement>;

/** As times: 1.09 is 9 % longer than on the sheet; in eight of ten cases from `low` to `high`. */
const learnedPoint = z.object({
  at: instant,
  checks: z.number(),
  timeFactor: z.number(),
  low: z.number(),
  high: z.number(),
});

const controlPoint = z.object({
  coat: id,
  at: instant,
  /** The middle of a deviation that is bounded on both sides. */
  middle: z.number(),
  range: z.number().nullable(),
  outside: z.enum(["above", "below"]).nullable(),
  isRangeOutside: z.boolean(),
});
const controlLimits = z.object({
  mean: z.number(),
  lower: z.number(),
  upper: z.number(),
  meanRange: z.number(),
  rangeUpper: z.number(),
});

export const shareFoundSchema = z.object({
  checks: z.number(),
  ready: z.number(),
  /** With its 95 % interval; null where there are too few checks to say. */
  found: z.object({ share: z.number(), low: z.number(), high: z.number() }).nullable(),
  /** Mean of the probabilities told. */
  told: z.number().nullable(),
  /** Mean of what a person who scatters would find were they right. */
  expected: z.number().nullable(),
});
export type ShareView = z.infer<typeof shareFoundSchema>;

export const spanFiguresSchema = z.object({
  coats: z.number(),
  dryingHours: z.number(),
  outsideHours: z.number(),
  outsideShare: z.number().nullable(),
  windowsMissed: z.number(),
  coveredEarly: z.number(),
  waiting: z
    .object({
      coats: z.number(),
      medianMinutes: z.number(),
      ninthDecileMinutes: z.number().nullable(),
      totalHours: z.number(),
    })
    .nullable(),
});
export type SpanFiguresView = z.infer<typeof spanFiguresSchema>;

const energy = z.object({
  heatKWh: z.number(),
  fuelKWh: z.number(),
  fansKWh: z.number(),
  cost: z.number(),
  co2Kg: z.number(),
});

const sheetName = { id, revision: z.number(), name: z.string(), invented: z.boolean() };

export const predictionsSchema = z.object({
  from: instant,
  to: instant,
  choices: z.object({ sheets: z.array(z.object({ id, name: z.string() })), places: z.array(placeSchema) }),
  /** So few, and nothing is said: brackets of a median, checks of a share, values of limits. */
  fewest: z.object({ brackets: z.number(), checks: z.number(), limits: z.number() }),
  sheets: z.array(
    z.object({
      sheet: z.object(sheetName),
      isLearningOff: z.boolean(),
      pairs: z.array(pair),
      /** All places together first. */
      agreements: z.array(agreement),
      learned: z.array(learnedPoint),
      control: z.object({ points: z.array(controlPoint), limits: controlLimits.nullable() }),
    }),
  ),
  calibration: z.object({
    /** Of the checks at or after the safe time told, the first of each coat's stage; and those that were its first look of all. */
    atSafe: shareFoundSchema,
    firstAtSafe: shareFoundSchema,
    /** First looks by the probability told. */
    bands: z.array(shareFoundSchema.extend({ from: z.number(), to: z.number() })),
    untold: z.number(),
  }),
  span: z.object({
    all: spanFiguresSchema,
    rows: z.array(spanFiguresSchema.extend({ sheet: z.object(sheetName), place: placeSchema.nullable() })),
  }),
  /** Null where the shop file says nothing of energy. */
  energy: z
    .object({
      currency: z.string(),
      dryings: z.number(),
      coats: z.number(),
      baked: z.number(),
      unknown: z.number(),
      bakes: energy,
      drying: energy,
      saved: energy,
      /** Each in a sentence, with its source. */
      assumptions: z.array(z.string()),
    })
    .nullable(),
});
export type PredictionsView = z.infer<typeof predictionsSchema>;
export type SheetPredictionsView = PredictionsView["sheets"][number];
