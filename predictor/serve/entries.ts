/**
 * The other half of the contract over HTTP: what people enter, what they ask, and the answer to a what-if.
 * Instants are ISO 8601; temperatures °C.
 */
import { z } from "zod";
import { nameSchema } from "../../collector/readings.ts";
import { stageNameSchema } from "../cure/sheet.ts";
import { cardColours, checkHows } from "../records/records.ts";
import { batchSchema, lessonSchema } from "./api.ts";
import { roleSchema } from "./people-api.ts";

const instant = z.iso.datetime({ offset: true });
const id = z.string().min(1).max(64);

/** Chosen by whoever enters it, so that entries about it can follow before it was sent. */
const ownId = z.string().regex(/^[A-Za-z0-9_-]{16,40}$/, "expected 16 to 40 letters, digits, - or _");
const reason = z.string().trim().min(3).max(400);

const newPanels = z
  .array(
    z.strictObject({
      name: z.string().min(1).max(60),
      substrate: z.enum(["steel", "aluminium", "plastic"]).default("steel"),
    }),
  )
  .min(1)
  .max(60);

export const newCarSchema = z.strictObject({
  id: ownId.optional(),
  colour: z.enum(cardColours).optional(),
  promisedAt: instant.optional(),
  job: z.string().min(1).max(40),
  name: z.string().min(1).max(80),
  place: nameSchema,
  /** When it came there; now when absent. */
  at: instant.optional(),
  panels: newPanels,
});

export const morePanelsSchema = z.strictObject({ panels: newPanels });
/** Null takes a promise back. */
export const promiseSchema = z.strictObject({ promisedAt: instant.nullable() });

export const newMoveSchema = z.strictObject({ place: nameSchema, at: instant.optional() });
/** `was` tells which move: its instant as it stands. */
export const moveCorrectionSchema = z
  .strictObject({ was: instant, reason, place: nameSchema.optional(), at: instant.optional() })
  .refine(({ place, at }) => place !== undefined || at !== undefined, {
    error: "expected place or at, what is to be corrected",
  });

export const newCoatSchema = z.strictObject({
  panels: z.array(z.string().min(1)).min(1),
  sheet: z.string().min(1),
  finishedAt: instant.optional(),
  /** Dry film build. */
  filmUm: z.number().positive().max(5000).optional(),
  /** Or the wet film as a comb reads it, with the thinner added: the sheet's solids by volume give the dry one. */
  wetFilm: z
    .strictObject({ wetUm: z.number().positive().max(5000), thinnedPercent: z.number().min(0).max(200).default(0) })
    .optional(),
  panelAtFinishC: z.number().min(-40).max(150).optional(),
  batches: z.array(batchSchema).max(12).optional(),
});

export const coatCorrectionSchema = z
  .strictObject({
    reason,
    finishedAt: instant.optional(),
    filmUm: z.number().positive().max(5000).optional(),
    /** Another sheet: its newest revision. */
    sheet: z.string().min(1).optional(),
  })
  .refine(({ finishedAt, filmUm, sheet }) => finishedAt !== undefined || filmUm !== undefined || sheet !== undefined, {
    error: "expected finishedAt, filmUm or sheet, what is to be corrected",
  });

export const newCheckSchema = z.strictObject({
  stage: stageNameSchema,
  ready: z.boolean(),
  how: z.enum(checkHows),
  /** When it was tried; now when absent. */
  at: instant.optional(),
  note: z.string().max(400).optional(),
});

export const withdrawalSchema = z.strictObject({ reason });

export const newMixSchema = z.strictObject({
  sheet: z.string().min(1),
  /** Where it stands; the shop file's mixing place when absent. */
  place: nameSchema.optional(),
  at: instant.optional(),
  litres: z.number().positive().max(100).optional(),
  batches: z.array(batchSchema).max(12).optional(),
});

/** How much to mix: for panels that the outline knows, or for an area. */
export const mixQuestionSchema = z
  .strictObject({
    sheet: z.string().min(1),
    panels: z.array(z.string().min(1)).max(60).optional(),
    areaM2: z.number().positive().max(200).optional(),
    coats: z.number().int().min(1).max(10).optional(),
    filmUm: z.number().positive().max(5000).optional(),
  })
  .refine(({ panels, areaM2 }) => (panels === undefined) !== (areaM2 === undefined), {
    error: "expected panels or areaM2",
  });

/** What the signature means, in the signer's words: "released for delivery". */
export const signOffSchema = z.strictObject({ meaning: z.string().trim().min(3).max(200) });

/** Entries of the log, as they are kept and in words: docs/records.md describes what each kind holds. */
export const entriesSchema = z.object({
  entries: z.array(
    z.object({
      seq: z.number(),
      at: instant,
      clock: z.string(),
      who: z.string(),
      role: z.string(),
      kind: z.string(),
      /** In words, in the reader's language. */
      text: z.string(),
      what: z.record(z.string(), z.unknown()),
      hash: z.string(),
    }),
  ),
});

export type Entries = z.infer<typeof entriesSchema>;

/** What was done about a warning, or why it waits. */
export const answerSchema = z.strictObject({ warning: z.string().min(1), done: z.string().trim().min(1).max(200) });
export const setAsideSchema = z.strictObject({
  warning: z.string().min(1),
  minutes: z
    .number()
    .int()
    .min(1)
    .max(24 * 60),
  reason,
});

const pin = z.string().regex(/^\d{4,12}$/, "expected 4 to 12 digits");
const personName = z.string().trim().min(1).max(40);
export const signInSchema = z.strictObject({ name: personName, pin });
/** The first person, who installs: with the token of the set-up link. */
export const setUpSchema = z.strictObject({ token: z.string().min(1).max(100), name: personName, pin });
export const newPersonSchema = z.strictObject({ name: personName, role: roleSchema, pin });
export const personChangeSchema = z.strictObject({
  role: roleSchema.optional(),
  pin: pin.optional(),
  isActive: z.boolean().optional(),
});
export const ownPinSchema = z.strictObject({ pin, newPin: pin });

export const lessonsSchema = z.object({
  lessons: z.array(lessonSchema.extend({ sheet: z.string(), revision: z.number(), name: z.string() })),
});

/** A plan for a car, step by step; what happens between is what the hours ahead bring. */
export const planStepSchema = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("move"), at: instant, place: nameSchema }),
  /** Air at this temperature round the panels for so long. */
  z.strictObject({ kind: z.literal("bake"), at: instant, bakeC: z.number(), minutes: z.number() }),
  /** In the place where the car stands then. */
  z.strictObject({ kind: z.literal("heating-off"), at: instant }),
  /** Finished at this instant, onto one of the coats: the last one when absent. */
  z.strictObject({ kind: z.literal("next-coat"), at: instant, sheet: z.string().min(1), onto: id.optional() }),
]);
export const whatIfQuestionSchema = z.strictObject({
  car: id,
  /** All of the car's uncovered coats when absent. */
  coat: id.optional(),
  steps: z.array(planStepSchema).max(12),
  /** How far ahead the coats are looked at, within a week; to the plan's end when absent or earlier than that. */
  until: instant.optional(),
});

const stageTimes = z.object({ likelyAt: instant.nullable(), safeAt: instant.nullable() });
const energy = z.object({
  heatKWh: z.number(),
  fuelKWh: z.number(),
  fansKWh: z.number(),
  cost: z.number(),
  co2Kg: z.number(),
});
export type EnergyView = z.infer<typeof energy>;
export const whatIfSchema = z.object({
  asOf: instant,
  /** Or `until`, where that is later. */
  planEndsAt: instant,
  coats: z.array(
    z.object({
      id,
      sheet: z.string(),
      panels: z.array(z.string()),
      /** The first stage that is not safe yet. */
      nextStage: stageNameSchema.nullable(),
      stages: z.array(
        z.object({
          stage: stageNameSchema,
          asThingsStand: stageTimes,
          plan: stageTimes,
          /** Negative where the plan makes it later. */
          safeEarlierMinutes: z.number().nullable(),
        }),
      ),
      percentAtPlanEnd: z.object({ asThingsStand: z.number().nullable(), plan: z.number().nullable() }),
      windowsMissed: z.array(z.object({ for: z.string(), ifMissed: z.string() })),
      notes: z.array(z.object({ code: z.string(), text: z.string() })),
    }),
  ),
  nextCoat: z
    .object({
      onto: id,
      state: z.string(),
      for: z.string().nullable(),
      mustBeDone: z.array(z.string()),
      stages: z.array(z.object({ stage: stageNameSchema, likelyAt: instant.nullable(), safeAt: instant.nullable() })),
    })
    .nullable(),
  /** Null where the shop file says nothing of energy. Each null where its end is never reached or no place can bake. */
  energy: z
    .object({
      currency: z.string(),
      plan: energy.nullable(),
      asThingsStand: energy.nullable(),
      conventionalBake: energy.nullable(),
      /** Where prices and factors come from. */
      sources: z.array(z.string()),
    })
    .nullable(),
  caution: z.string(),
});
export type WhatIfView = z.infer<typeof whatIfSchema>;
