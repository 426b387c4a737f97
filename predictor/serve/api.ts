/**
 * The contract between the predictor and everything that asks it over HTTP, the pages first of all.
 * /api/openapi.json is generated from these schemas. Instants are ISO 8601 in UTC; temperatures °C; pages convert.
 */
import { z } from "zod";
import { nameSchema } from "../../collector/readings.ts";
import { sheetSchema, stageNameSchema } from "../cure/sheet.ts";
import { rules } from "../warnings/rules.ts";

const instant = z.iso.datetime({ offset: true });
const id = z.string().min(1).max(64);

export const shopSchema = z.object({
  id: z.string(),
  name: z.string(),
  /** True for the rehearsal shop and other demo data: every screen says so. */
  invented: z.boolean(),
  timeZone: z.string(),
  units: z.object({ temperature: z.enum(["C", "F"]), clock: z.enum(["24h", "12h"]) }),
  /** Local hours between which a wall display is dimmed; null when never. */
  dim: z.object({ from: z.string(), to: z.string() }).nullable(),
});
export type Shop = z.infer<typeof shopSchema>;

export const placeKindSchema = z.enum(["booth", "prep", "workshop", "yard", "mixing"]);
export const placeSchema = z.object({ id: nameSchema, name: z.string(), kind: placeKindSchema });
export type Place = z.infer<typeof placeSchema>;

/** A quantity's newest value. Once it is older than it may be, it is not current: show its age instead. */
export const currentSchema = z.object({
  value: z.number(),
  at: instant,
  sensor: z.string(),
  /** How long after `at` it may be shown as current: twice its usual cadence. */
  currentForSeconds: z.number(),
});
export type Current = z.infer<typeof currentSchema>;

export const climateSchema = z.object({
  airC: currentSchema.nullable(),
  rhPercent: currentSchema.nullable(),
  panelC: currentSchema.nullable(),
  airSpeedMps: currentSchema.nullable(),
  /** From air temperature and humidity, over water. */
  dewPointC: z.number().nullable(),
  /** Panel (or, without a panel sensor, air) minus dew point. */
  dewMarginC: z.number().nullable(),
});
export type Climate = z.infer<typeof climateSchema>;

export const verdictSchema = z.object({
  state: z.enum(["spray", "spray with care", "do not spray", "no verdict"]),
  /** One line: what decides, with the figure and the sheet's bound. */
  reason: z.string(),
  /** The sheets it was judged by. */
  sheets: z.array(z.string()),
});
export type Verdict = z.infer<typeof verdictSchema>;

export const stageViewSchema = z.object({
  stage: stageNameSchema,
  curePercent: z.number(),
  /** `not yet`, likely but not safe, or safe. */
  state: z.enum(["not yet", "check first", "ready"]),
  likelyAt: instant.nullable(),
  safeAt: instant.nullable(),
});
export type StageView = z.infer<typeof stageViewSchema>;

export const windowViewSchema = z.object({
  for: z.string(),
  opensAt: instant.nullable(),
  closesAt: instant.nullable(),
  state: z.enum(["not open", "open", "closing", "missed"]),
  ifMissed: z.string(),
});
export type WindowView = z.infer<typeof windowViewSchema>;

/** Something under the rail: a stay in a place, or a stretch without readings. */
export const bandSchema = z.object({
  kind: z.enum(["place", "gap"]),
  text: z.string(),
  from: instant,
  /** Null while it lasts. */
  to: instant.nullable(),
});
export type Band = z.infer<typeof bandSchema>;

export const coatViewSchema = z.object({
  id,
  carId: id,
  job: z.string(),
  car: z.string(),
  panels: z.array(z.string()),
  substrate: z.enum(["steel", "aluminium", "plastic"]),
  sheet: z.object({
    id: z.string(),
    revision: z.number(),
    name: z.string(),
    kind: z.string(),
    invented: z.boolean(),
    cautions: z.array(z.string()),
  }),
  place: placeSchema.nullable(),
  finishedAt: instant,
  filmUm: z.number(),
  /** A later coat lies on all of its panels: nobody waits for it any more. */
  covered: z.boolean(),
  /** Null while there is no prediction; `why` then says why. */
  prediction: z
    .object({
      asOf: instant,
      curePercent: z.number(),
      /** Minutes at 20 °C and 50 % humidity that would have brought it as far. */
      equivalentMinutes: z.number(),
      panelC: z.number(),
      panelEstimated: z.boolean(),
      /** The newest reading it rests on. */
      readingAt: instant,
      stages: z.array(stageViewSchema),
      windows: z.array(windowViewSchema),
      /** The furthest stage that is safe, and the furthest that is only likely. */
      readyFor: stageNameSchema.nullable(),
      checkFirst: stageNameSchema.nullable(),
      /** What it waits for next: the first stage that is not safe yet. */
      next: stageViewSchema.nullable(),
      notes: z.array(z.object({ code: z.string(), text: z.string() })),
    })
    .nullable(),
  why: z.string().nullable(),
  bands: z.array(bandSchema),
  /** Shown wherever 'ready' is shown. */
  caution: z.string(),
});
export type CoatView = z.infer<typeof coatViewSchema>;

export const warningSchema = z.object({
  id: z.string(),
  rule: z.enum(rules),
  place: nameSchema,
  /** `now` wants a hand at once, `soon` within the quarter hour. */
  urgency: z.enum(["now", "soon"]),
  /** What is the matter, then what to do. */
  text: z.string(),
  action: z.string(),
  since: instant,
  coatId: id.nullable(),
});
export type Warning = z.infer<typeof warningSchema>;

/** All that the wall of one place shows; also the `place` event of /api/stream. */
export const placeViewSchema = z.object({
  shop: shopSchema,
  place: placeSchema,
  asOf: instant,
  climate: climateSchema,
  verdict: verdictSchema,
  /** Coats standing here and not covered, sorted by what happens next. */
  coats: z.array(coatViewSchema),
  /** The most urgent first. */
  warnings: z.array(warningSchema),
});
export type PlaceView = z.infer<typeof placeViewSchema>;

const line = z.object({
  mean: z.array(z.number().nullable()),
  min: z.array(z.number().nullable()),
  max: z.array(z.number().nullable()),
});
/** Thinned history of a place: at most `points` buckets, each with mean, minimum and maximum; null where there was no reading. */
export const climateHistorySchema = z.object({
  from: instant,
  to: instant,
  bucketSeconds: z.number(),
  /** Start of each bucket. */
  at: z.array(instant),
  airC: line,
  rhPercent: line,
  panelC: line,
  /** Of the bucket's means. */
  dewPointC: z.array(z.number().nullable()),
});
export type ClimateHistory = z.infer<typeof climateHistorySchema>;

export const carViewSchema = z.object({
  id,
  /** The job number in the shop's own words. */
  job: z.string(),
  name: z.string(),
  place: placeSchema.nullable(),
  since: instant,
  panels: z.array(z.object({ name: z.string(), substrate: z.enum(["steel", "aluminium", "plastic"]) })),
  /** Coats that nobody covered yet, by what happens next. */
  coats: z.array(coatViewSchema),
});
export type CarView = z.infer<typeof carViewSchema>;

/** The list of `/`. */
export const carsSchema = z.object({ shop: shopSchema, places: z.array(placeSchema), cars: z.array(carViewSchema) });
export type Cars = z.infer<typeof carsSchema>;

export const newCarSchema = z.strictObject({
  job: z.string().min(1).max(40),
  name: z.string().min(1).max(80),
  place: nameSchema,
  /** When it came there; now when absent. */
  at: instant.optional(),
  panels: z
    .array(
      z.strictObject({
        name: z.string().min(1).max(60),
        substrate: z.enum(["steel", "aluminium", "plastic"]).default("steel"),
      }),
    )
    .min(1)
    .max(60),
});

export const newMoveSchema = z.strictObject({ place: nameSchema, at: instant.optional() });

export const newCoatSchema = z.strictObject({
  panels: z.array(z.string().min(1)).min(1),
  sheet: z.string().min(1),
  finishedAt: instant.optional(),
  filmUm: z.number().positive().max(5000).optional(),
  panelAtFinishC: z.number().min(-40).max(150).optional(),
});

export const coatCorrectionSchema = z
  .strictObject({
    reason: z.string().min(3).max(400),
    finishedAt: instant.optional(),
    filmUm: z.number().positive().max(5000).optional(),
  })
  .refine((correction) => correction.finishedAt !== undefined || correction.filmUm !== undefined, {
    error: "expected finishedAt or filmUm, what is to be corrected",
  });

export const sheetsSchema = z.object({ sheets: z.array(sheetSchema) });

/** The `reading` event of /api/stream: sent as soon as it is committed. */
export const readingEventSchema = z.object({
  place: nameSchema,
  quantity: z.string(),
  sensor: z.string(),
  at: instant,
  value: z.number(),
});
export type ReadingEvent = z.infer<typeof readingEventSchema>;

/** RFC 9457 problem details; `faults` names each field that does not fit. */
export const problemSchema = z.object({
  type: z.string(),
  title: z.string(),
  status: z.number(),
  detail: z.string(),
  faults: z.array(z.object({ path: z.string(), expected: z.string(), found: z.string() })).optional(),
});
export type Problem = z.infer<typeof problemSchema>;
