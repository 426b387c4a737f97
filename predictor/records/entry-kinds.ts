/**
 * What an entry of the log can hold. Entries stand for good, so a schema may only ever be widened: an entry that an older
 * version wrote must still pass. Instants are UTC milliseconds.
 */
import { z } from "zod";
import { quantityNames } from "../../collector/readings.ts";
import type { Text, TextKey, Value } from "../../words/text.ts";
import { substrates } from "../cure/panel.ts";
import { sheetSchema, stageNameSchema } from "../cure/sheet.ts";
import type { SprayCheck } from "../cure/spray-check.ts";

/** Colours of the job card. */
export const cardColours = [
  "red",
  "orange",
  "yellow",
  "green",
  "blue",
  "violet",
  "brown",
  "grey",
  "black",
  "white",
] as const;
export type CardColour = (typeof cardColours)[number];

/** Ways to try a coat, in the painter's words. */
export const checkHows = ["thumb", "nail", "sanding", "tape"] as const;
export type CheckHow = (typeof checkHows)[number];

const id = z.string().min(1).max(64);
const instantMs = z.number().int();
const revision = z.number().int().positive();
const words = z.string().min(1);

const panelSchema = z.strictObject({ name: words, substrate: z.enum(substrates) });
/** A component's batch number, as on its tin. */
const batchSchema = z.strictObject({ component: words, batch: words });
export type Batch = z.infer<typeof batchSchema>;

/** The limits as they stood when a coat was finished. */
const sprayCheckSchema: z.ZodType<SprayCheck> = z.strictObject({
  atMs: instantMs,
  place: words,
  sheetId: id,
  state: z.enum(["spray", "spray with care", "do not spray", "no verdict"]),
  limits: z.array(
    z.strictObject({
      what: z.enum(["air temperature", "panel temperature", "humidity", "dew-point margin"]),
      value: z.number().nullable(),
      min: z.number().nullable(),
      max: z.number().nullable(),
      margin: z.number().nullable(),
      state: z.enum(["inside", "close", "outside", "not measured"]),
      source: z.enum(["sheet", "common practice"]),
      sensor: z.string().nullable(),
      readingAtMs: instantMs.nullable(),
    }),
  ),
});

const valueSchema: z.ZodType<Value> = z.lazy(() =>
  z.union([
    z.string(),
    z.number(),
    z.strictObject({ celsius: z.number() }),
    z.strictObject({ kelvin: z.number() }),
    z.strictObject({ timeMs: z.number(), nowMs: z.number().exactOptional() }),
    z.strictObject({ dateMs: z.number() }),
    z.strictObject({ prefix: z.string(), name: z.string() }),
    z.array(valueSchema).readonly(),
    textSchema,
  ]),
);
/** The key may be one that the catalogue no longer has. */
const textSchema: z.ZodType<Text> = z.strictObject({
  key: z.custom<TextKey>((key) => typeof key === "string" && key.length > 0),
  values: z.record(z.string(), valueSchema).exactOptional(),
});

/** A sheet is kept as it was written, so that a default of a later version does not change what was entered. */
const keptSheetSchema = z
  .looseObject({ id, revision })
  .refine((sheet) => sheetSchema.safeParse(sheet).success, "expected a sheet");

/** Of what was recorded before there was a log: by whom and when, as far as that was kept. */
const beforeLog = z.strictObject({ who: z.string().nullable(), atMs: instantMs });
const kind = <Shape extends z.ZodRawShape>(shape: Shape) =>
  z.strictObject({ ...shape, before: beforeLog.exactOptional() });

const toldSchema = z.strictObject({ likelyAtMs: instantMs.nullable(), safeAtMs: instantMs.nullable() });
export type Told = z.infer<typeof toldSchema>;

const ofCar = { carId: id };
const ofCoat = { carId: id, coatId: id };
const ofWarning = { id, carId: id.nullable(), coatId: id.nullable() };
const changed = <Field extends string, Of extends z.ZodType>(field: Field, of: Of) =>
  z.strictObject({ field: z.literal(field), was: of, became: of });

export const whatSchemas = {
  /** `reason`: what a person changed, and why. */
  "sheet-kept": kind({ sheet: keptSheetSchema, reason: words.exactOptional() }),
  /** One that a person wrote serves new coats from then on. */
  "sheet-approved": kind({ sheetId: id, sheetRevision: revision }),
  "car-came": kind({
    ...ofCar,
    job: words,
    name: words,
    colour: z.enum(cardColours).nullable(),
    promisedAtMs: instantMs.nullable(),
    panels: z.array(panelSchema),
    place: words,
    atMs: instantMs,
  }),
  "panels-added": kind({ ...ofCar, panels: z.array(panelSchema).min(1) }),
  promised: kind({ ...ofCar, was: instantMs.nullable(), became: instantMs.nullable() }),
  /** Place null: it left the shop. */
  "car-moved": kind({ ...ofCar, place: words.nullable(), atMs: instantMs }),
  "move-corrected": kind({
    ...ofCar,
    reason: words,
    was: z.strictObject({ place: words.nullable(), atMs: instantMs }),
    became: z.strictObject({ place: words.nullable(), atMs: instantMs }),
  }),
  /** One coat for each substrate among the panels. */
  "coats-finished": kind({
    ...ofCar,
    coats: z.array(z.strictObject({ id, substrate: z.enum(substrates), panels: z.array(words).min(1) })).min(1),
    sheetId: id,
    sheetRevision: revision,
    finishedAtMs: instantMs,
    filmUm: z.number().nullable(),
    panelAtFinishC: z.number().nullable(),
    batches: z.array(batchSchema),
    sprayCheck: sprayCheckSchema.nullable(),
  }),
  "coat-corrected": kind({
    ...ofCoat,
    reason: words,
    changes: z
      .array(
        z.discriminatedUnion("field", [
          changed("finishedAtMs", instantMs),
          changed("filmUm", z.number().nullable()).extend({ became: z.number() }),
          changed("sheetId", id).extend({ wasRevision: revision, becameRevision: revision }),
        ]),
      )
      .min(1),
  }),
  "coat-withdrawn": kind({ ...ofCoat, reason: words }),
  "coat-checked": kind({
    ...ofCoat,
    id,
    stage: stageNameSchema,
    atMs: instantMs,
    ready: z.boolean(),
    how: z.enum(checkHows),
    note: z.string().nullable(),
    /** When the stage was said to be likely and safe, just before: what the check is held against. */
    told: toldSchema.nullable().exactOptional(),
  }),
  "check-withdrawn": kind({ ...ofCoat, id, reason: words }),
  /** Released: somebody vouches for it, and says what the signature means. */
  "coat-signed-off": kind({ ...ofCoat, meaning: words }),
  "coat-held": kind({ ...ofCoat, reason: words }),
  /** Neither released nor held any more. */
  "coat-reopened": kind({ ...ofCoat, reason: words }),
  /** Why a deviation is acceptable, or what was done about it. */
  "deviation-answered": kind({ ...ofCoat, deviation: words, answer: words }),
  /** A certificate was made of one coat or of a car's; `digest` is the SHA-256 of its file's bytes. */
  "certificate-issued": kind({ ...ofCar, coatIds: z.array(id).min(1), digest: z.string().regex(/^[0-9a-f]{64}$/) }),
  mixed: kind({
    id,
    sheetId: id,
    sheetRevision: revision,
    place: words,
    mixedAtMs: instantMs,
    litres: z.number().positive().nullable(),
    batches: z.array(batchSchema),
  }),
  "mix-emptied": kind({ id, atMs: instantMs }),
  /** What the shop file says of one quantity of one sensor: corrected = slope × read + offset; null where it says nothing. */
  "instrument-set": kind({
    collector: words,
    sensor: words,
    quantity: z.enum(quantityNames),
    slope: z.number().positive(),
    offset: z.number(),
    calibrated: z.iso.date().nullable(),
    due: z.iso.date().nullable(),
    reference: words.nullable(),
  }),
  "warning-raised": kind({
    ...ofWarning,
    rule: words,
    place: words,
    urgency: words,
    text: textSchema,
    /** As it was said, in the shop's language. */
    said: z.string(),
  }),
  "warning-answered": kind({ ...ofWarning, done: words }),
  "warning-set-aside": kind({ ...ofWarning, untilMs: instantMs, reason: words }),
  "warning-said-again": kind({ ...ofWarning }),
  "warning-ended": kind({ ...ofWarning }),
  "person-added": kind({ name: words, role: words }),
  "person-changed": kind({ name: words, change: words }),
} as const;

export type Kind = keyof typeof whatSchemas;
export type What<K extends Kind> = z.infer<(typeof whatSchemas)[K]>;
export const kinds = Object.keys(whatSchemas) as Kind[];
