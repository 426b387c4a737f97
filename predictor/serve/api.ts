/**
 * The contract between the predictor and everything that asks it over HTTP, the pages first of all.
 * /api/openapi.json is generated from these schemas. Instants are ISO 8601 in UTC; temperatures °C; pages convert.
 */
import { z } from "zod";
import { nameSchema } from "../../collector/readings.ts";
import { languages } from "../../words/words.ts";
import { sheetSchema, stageNameSchema } from "../cure/sheet.ts";
import { cardColours, checkHows } from "../records/records.ts";
import { rules, urgencies } from "../warnings/condition.ts";

const instant = z.iso.datetime({ offset: true });
const id = z.string().min(1).max(64);

export const shopSchema = z.object({
  id: z.string(),
  name: z.string(),
  /** True for the rehearsal shop and other demo data: every screen says so. */
  invented: z.boolean(),
  /** Where phones on the shop's network find the pages. */
  address: z.string(),
  /** What the walls speak; a phone may choose another. */
  language: z.enum(languages),
  timeZone: z.string(),
  units: z.object({ temperature: z.enum(["C", "F"]), clock: z.enum(["24h", "12h"]) }),
  /** Local hours between which a wall display is dimmed; null when never. */
  dim: z.object({ from: z.string(), to: z.string() }).nullable(),
});
export type Shop = z.infer<typeof shopSchema>;

export const placeKindSchema = z.enum(["booth", "prep", "workshop", "yard", "mixing"]);
export const placeSchema = z.object({ id: nameSchema, name: z.string(), kind: placeKindSchema });
export type Place = z.infer<typeof placeSchema>;

/** What every page needs to know of the shop. */
export const shopAndPlacesSchema = z.object({ shop: shopSchema, places: z.array(placeSchema), asOf: instant });
export type ShopAndPlaces = z.infer<typeof shopAndPlacesSchema>;

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
  /** False where the panel leaves the temperatures that the sheet covers before then. */
  isCovered: z.boolean(),
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

/** What the shop's own checks say of a sheet. */
export const lessonSchema = z.object({
  /** In words: "this shop: 8 % slower than the sheet, from 14 checks". */
  text: z.string(),
  checks: z.number(),
  /** Positive: coats take so much longer than the sheet says. */
  percentSlower: z.number(),
  /** Standard deviation of ln(time) that is left. */
  sigma: z.number(),
  /** Switched off in the shop file: the times are the sheet's own. */
  isOff: z.boolean(),
});
export type LessonView = z.infer<typeof lessonSchema>;

export const checkViewSchema = z.object({
  id,
  stage: stageNameSchema,
  at: instant,
  ready: z.boolean(),
  how: z.enum(checkHows),
  who: z.string(),
  note: z.string().nullable(),
  /** Withdrawn ones are kept and do not count. */
  withdrawn: z.object({ reason: z.string(), who: z.string(), at: instant }).nullable(),
});
export type CheckView = z.infer<typeof checkViewSchema>;

/** Something under the rail: a stay in a place, or a stretch without readings. */
export const bandSchema = z.object({
  kind: z.enum(["place", "gap"]),
  text: z.string(),
  from: instant,
  /** Null while it lasts. */
  to: instant.nullable(),
});
export type Band = z.infer<typeof bandSchema>;

/** What was corrected, by whom and why; values as people read them in the API: instants ISO, film µm, a sheet by its id. */
export const correctionViewSchema = z.object({
  at: instant,
  who: z.string(),
  reason: z.string(),
  field: z.enum(["finishedAt", "filmUm", "sheet"]),
  was: z.union([z.string(), z.number()]).nullable(),
  became: z.union([z.string(), z.number()]),
});
export type CorrectionView = z.infer<typeof correctionViewSchema>;

/** A component's batch number, as on its tin. */
export const batchSchema = z.object({ component: z.string().min(1).max(60), batch: z.string().min(1).max(60) });

/** One limit of the spray check. */
export const limitViewSchema = z.object({
  what: z.enum(["air temperature", "panel temperature", "humidity", "dew-point margin"]),
  /** °C, or % for humidity; null where nothing current tells. */
  value: z.number().nullable(),
  min: z.number().nullable(),
  max: z.number().nullable(),
  /** How far inside the nearer bound; negative outside. Null without a value. */
  margin: z.number().nullable(),
  state: z.enum(["inside", "close", "outside", "not measured"]),
  /** Where the bound comes from. */
  source: z.enum(["sheet", "common practice"]),
  /** Of the value: which sensor, when. */
  sensor: z.string().nullable(),
  readingAt: instant.nullable(),
});
export type LimitView = z.infer<typeof limitViewSchema>;

export const sprayCheckSchema = z.object({
  at: instant,
  place: z.string(),
  sheet: z.string(),
  state: z.enum(["spray", "spray with care", "do not spray", "no verdict"]),
  limits: z.array(limitViewSchema),
});
export type SprayCheckView = z.infer<typeof sprayCheckSchema>;

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
      /** Set when that stage is not to be expected, or not surely, before work ends today. */
      lateToday: z.object({ state: z.enum(["check first", "not today"]), workEndsAt: instant }).nullable(),
      lesson: lessonSchema,
      notes: z.array(z.object({ code: z.string(), text: z.string() })),
    })
    .nullable(),
  why: z.string().nullable(),
  bands: z.array(bandSchema),
  checks: z.array(checkViewSchema),
  corrections: z.array(correctionViewSchema),
  /** Set when the coat was entered by mistake: it is kept, and followed no more. */
  withdrawn: z.object({ reason: z.string(), who: z.string(), at: instant }).nullable(),
  /** Who entered it. */
  who: z.string(),
  /** The limits as they stood at the finish; null when nothing current told of them. */
  sprayCheck: sprayCheckSchema.nullable(),
  batches: z.array(batchSchema),
  /** Shown wherever 'ready' is shown. */
  caution: z.string(),
});
export type CoatView = z.infer<typeof coatViewSchema>;

export const warningSchema = z.object({
  /** Tells one warning from all others for as long as it lasts. */
  id: z.string(),
  rule: z.enum(rules),
  place: nameSchema,
  /** Where else it shows. */
  alsoAt: z.array(nameSchema),
  /** `now` wants a hand at once, `soon` within the quarter hour, `today` before work ends. */
  urgency: z.enum(urgencies),
  /** What is the matter; what follows if nothing is done; what to do. */
  text: z.string(),
  consequence: z.string(),
  action: z.string(),
  /** Until when something can be done about it; null where there is no such instant. */
  until: instant.nullable(),
  since: instant,
  coatId: id.nullable(),
  carId: id.nullable(),
  state: z.enum(["open", "answered", "set aside"]),
  answer: z.object({ who: z.string(), at: instant, done: z.string() }).nullable(),
  setAside: z.object({ who: z.string(), at: instant, until: instant, reason: z.string() }).nullable(),
});
export type Warning = z.infer<typeof warningSchema>;

/** One that is over. Its rule and its text are as they were recorded. */
export const endedWarningSchema = warningSchema
  .pick({ id: true, place: true, text: true, since: true, coatId: true, carId: true, answer: true, setAside: true })
  .extend({ rule: z.string(), endedAt: instant });
export type EndedWarning = z.infer<typeof endedWarningSchema>;

/** All that hold, answered and set aside ones too, the most urgent first; and those that ended in the last day. */
export const warningsSchema = z.object({
  warnings: z.array(warningSchema),
  ended: z.array(endedWarningSchema),
});
export type WarningsView = z.infer<typeof warningsSchema>;

/** The `notice` event of /api/stream: what is to reach a person now. A limit keeps their number bearable; what is over it comes gathered. */
export const noticeSchema = z.object({
  id: z.string(),
  at: instant,
  kind: z.enum(["warning", "ready", "gathered"]),
  urgency: z.enum(urgencies),
  text: z.string(),
  action: z.string(),
  warningId: z.string().nullable(),
  coatId: id.nullable(),
  carId: id.nullable(),
  /** Of `gathered`: how many it stands for. */
  count: z.number(),
});
export type Notice = z.infer<typeof noticeSchema>;

/** The air to be expected in a place, each half hour: likely, and colder or warmer one time in ten. */
export const hoursAheadSchema = z.object({
  at: z.array(instant),
  airC: z.array(z.number()),
  coldC: z.array(z.number()),
  warmC: z.array(z.number()),
});
export type HoursAhead = z.infer<typeof hoursAheadSchema>;

/** By when a coat must be finished in a place, for a stage to be reached before work ends; null when even now is too late. */
export const startBySchema = z.object({
  place: placeSchema,
  sheet: z.object({ id: z.string(), name: z.string(), kind: z.string() }),
  stage: stageNameSchema,
  by: instant,
  /** For the stage to be safe by then, and likely. */
  safeFinishBy: instant.nullable(),
  likelyFinishBy: instant.nullable(),
});
export type StartByView = z.infer<typeof startBySchema>;

/** A mixed pot; its life runs with the mixing place's temperature. */
export const potSchema = z.object({
  id,
  sheet: z.object({ id: z.string(), name: z.string(), kind: z.string() }),
  place: placeSchema,
  mixedAt: instant,
  /** Of its life; above 100 when it is over. Null while no reading tells. */
  usedPercent: z.number().nullable(),
  /** The early edge: nine times in ten it lasts longer. */
  useBy: instant.nullable(),
  endsAt: instant.nullable(),
  state: z.enum(["good", "closing", "over", "unknown"]),
});
export type PotView = z.infer<typeof potSchema>;

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
  /** Null without an air temperature. */
  hoursAhead: hoursAheadSchema.nullable(),
  /** For what is sprayed here and a stage of it that is waited for: here and in the other places. Empty outside working hours. */
  startBy: z.array(startBySchema),
  /** Mixed for what is sprayed here, the one that ends first first. */
  pots: z.array(potSchema),
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

/** The climate a coat had on its way through places, from its finish until its last stage was safe, it left, or now. */
export const coatCourseSchema = climateHistorySchema.extend({
  /** In the middle of each bucket: the panel that the coat was followed by, measured or estimated, and how far cured it was. */
  followedPanelC: z.array(z.number().nullable()),
  curePercent: z.array(z.number().nullable()),
});
export type CoatCourse = z.infer<typeof coatCourseSchema>;

export const carViewSchema = z.object({
  id,
  /** The job number in the shop's own words. */
  job: z.string(),
  name: z.string(),
  /** Of the job card; null when none was named. */
  colour: z.enum(cardColours).nullable(),
  /** By when it was promised; null when nothing was. */
  promisedAt: instant.nullable(),
  place: placeSchema.nullable(),
  since: instant,
  /** In order of time. */
  moves: z.array(z.object({ at: instant, place: z.string().nullable(), who: z.string() })),
  panels: z.array(z.object({ name: z.string(), substrate: z.enum(["steel", "aluminium", "plastic"]) })),
  /** Coats that nobody covered yet, by what happens next. */
  coats: z.array(coatViewSchema),
});
export type CarView = z.infer<typeof carViewSchema>;

/** The list of `/`. */
export const carsSchema = z.object({
  shop: shopSchema,
  places: z.array(placeSchema),
  cars: z.array(carViewSchema),
  openWarnings: z.number(),
});
export type Cars = z.infer<typeof carsSchema>;

/** One place in the overview of `/wall`. */
export const placeBriefSchema = z.object({
  place: placeSchema,
  climate: climateSchema,
  verdict: verdictSchema,
  /** By what happens next. */
  coats: z.array(coatViewSchema),
  /** The most urgent open one. */
  warning: warningSchema.nullable(),
  openWarnings: z.number(),
});
/** All places at once; also the `overview` event of /api/stream?overview. */
export const overviewSchema = z.object({ shop: shopSchema, asOf: instant, places: z.array(placeBriefSchema) });
export type Overview = z.infer<typeof overviewSchema>;

export const sheetsSchema = z.object({ sheets: z.array(sheetSchema) });
/** A sheet as it is entered: docs/sheets.md describes each key. */
export type SheetView = z.infer<typeof sheetSchema>;

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
