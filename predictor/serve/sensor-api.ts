/** The contract of the sensors' page: how each sensor does, how it is corrected, how it stands to its neighbour, and how much of each day is known. */
import { z } from "zod";
import { quantityNames } from "../../collector/readings.ts";
import { daysAtMost } from "../proof/coverage.ts";
import { placeSchema } from "./api.ts";

const instant = z.iso.datetime({ offset: true });
const date = z.iso.date();
const quantity = z.enum(quantityNames);

/** The worst first. `awaited`: not heard since the start, or not lately, and not missed yet either. */
export const sensorHealths = [
  "silent",
  "out of range",
  "stuck",
  "spike",
  "disagrees",
  "drifts",
  "fast change",
  "awaited",
  "sound",
] as const;
export type SensorHealth = (typeof sensorHealths)[number];

/** `over`: the day it was due is past. `soon`: within a fortnight, when the warning comes. `undated`: the shop file gives no day. */
export const dueStates = ["over", "soon", "later", "undated"] as const;

/** Corrected = slope × read + offset, in the quantity's own unit (°C for temperatures). */
const settingSchema = z.object({
  slope: z.number(),
  offset: z.number(),
  calibrated: date.nullable(),
  due: date.nullable(),
  /** What it was compared with. */
  reference: z.string().nullable(),
});
export type SensorSetting = z.infer<typeof settingSchema>;

/** One quantity of one sensor in one place. */
export const sensorSchema = z.object({
  place: placeSchema,
  quantity,
  /** `<collector>/<sensor>` */
  sensor: z.string(),
  /** Reckoned with, or only compared with the one that is. */
  role: z.enum(["reckoned", "compared"]),
  health: z.enum(sensorHealths),
  /** What is the matter with its readings and what to do, in the words of the warnings; empty where nothing is. */
  troubles: z.array(z.object({ text: z.string(), action: z.string() })),
  /** The newest reading; `isUsed` false where it is marked bad. Null where none is known. */
  newest: z.object({ value: z.number(), at: instant, isUsed: z.boolean() }).nullable(),
  /** Usual time from one reading to the next; null while that is not known. */
  cadenceSeconds: z.number().nullable(),
  /** Of the collector, as it says; null where it never said anything, as a device with firmware of its own may not. */
  collector: z.object({ isOnline: z.boolean(), since: instant, packsWaiting: z.number() }).nullable(),
  setting: settingSchema,
  due: z.enum(dueStates),
  /** False for readings that come ready made: they are neither corrected nor judged here, whatever the setting says. */
  isCorrected: z.boolean(),
  /** Every setting there was, oldest first, with when the log got it; the last one holds. */
  history: z.array(settingSchema.extend({ at: instant })),
  /** The other sensor of the pair, where the shop file names one; the first is the one that is reckoned with. */
  neighbour: z
    .object({
      sensor: z.string(),
      /** What is known of the pair; null while too little is. `byMedian`: this sensor minus the other. */
      difference: z
        .object({ byMedian: z.number(), overHours: z.number(), differs: z.enum(["no", "now", "drift"]) })
        .nullable(),
    })
    .nullable(),
});
export type SensorView = z.infer<typeof sensorSchema>;

/** The worst first. */
export const sensorsSchema = z.object({ sensors: z.array(sensorSchema) });
export type SensorsView = z.infer<typeof sensorsSchema>;

export const differencesQuerySchema = z.object({ days: z.coerce.number().int().min(1).max(14).default(7) });

/** How a pair of sensors differed; see DifferenceTrail. In the quantity's unit, the first sensor minus the second. */
export const differenceSchema = z.object({
  place: placeSchema,
  quantity,
  sensors: z.tuple([z.string(), z.string()]),
  /** What two sound sensors may differ by. */
  bound: z.number(),
  stepMinutes: z.literal(30),
  from: instant,
  by: z.array(z.number().nullable()),
  atFirst: z.number().nullable(),
  lately: z.number().nullable(),
  beyond: z.object({ since: instant, orBefore: z.boolean() }).nullable(),
});
export type DifferenceView = z.infer<typeof differenceSchema>;
export const differencesSchema = z.object({ pairs: z.array(differenceSchema) });
export type DifferencesView = z.infer<typeof differencesSchema>;

export const coverageQuerySchema = z.object({ days: z.coerce.number().int().min(1).max(daysAtMost).default(30) });

export const coverageSchema = z.object({
  /** Counted in steps of so many minutes: one with a reading of use counts whole. */
  stepMinutes: z.number(),
  /** Of the shop's calendar, today last; `minutes`: how many the day has, today has had so far. */
  days: z.array(z.object({ date, minutes: z.number() })),
  lines: z.array(
    z.object({
      place: placeSchema,
      quantity,
      sensor: z.string(),
      /** For each day; null while it is not counted yet. */
      minutes: z.array(z.number().nullable()),
    }),
  ),
  /** So many days of a line are not counted yet: ask again. */
  pending: z.number(),
});
export type CoverageView = z.infer<typeof coverageSchema>;
