/**
 * A technical data sheet as Coatclock holds it: what the sheet prints, in order of time, and nothing derived.
 * `ladder.ts` turns it into rates. The form is described for people in docs/sheets.md.
 */
import { z } from "zod";
import { kineticsSchema } from "./kinetics/kinetics.ts";

/** Stages in the trade's words; ASTM D1640 and the ISO 9117 series define the drying ones. */
export const stageNames = [
  "touch-dry",
  "dust-free",
  "tack-free",
  "overcoat",
  "sand",
  "demask",
  "assemble",
  "polish",
  "full-cure",
] as const;
export const stageNameSchema = z.enum(stageNames);
export type StageName = z.infer<typeof stageNameSchema>;

/** What a stage waits for: cross-linking, cure by water from the air, water leaving, solvent leaving. */
export const waitsForSchema = z.enum(["reaction", "moisture", "water", "solvent"]);
export type WaitsFor = z.infer<typeof waitsForSchema>;

const temperatureKey = z.string().regex(/^-?\d+(\.\d+)?$/, 'expected a temperature in °C such as "20"');

const stageSchema = z.strictObject({
  stage: stageNameSchema,
  /** Minutes after the last coat, by panel temperature in °C; absent on a sheet with kinetics. */
  minutesAtC: z
    .record(temperatureKey, z.number().positive())
    .refine((anchors) => Object.keys(anchors).length > 0, "expected at least one temperature with its minutes")
    .optional(),
  /** 100 is what the sheet calls full cure. */
  curePercent: z.number().positive().max(100).optional(),
  by: waitsForSchema.default("reaction"),
  /** 0.1 means 10 % faster in saturated air than at the reference humidity of 50 %; overrides the sheet's. */
  humiditySensitivity: z.number().optional(),
});

const rangeSchema = z
  .strictObject({ min: z.number().optional(), max: z.number().optional() })
  .refine(
    (range) => !(range.min !== undefined && range.max !== undefined) || range.min < range.max,
    "expected min below max",
  );

/** Spray limits; a bound that the sheet does not print is absent. */
const limitsSchema = z.strictObject({
  airC: rangeSchema.optional(),
  panelC: rangeSchema.optional(),
  rhPercent: rangeSchema.optional(),
});

/** A stretch of time in which the next step must happen: opens at the finish or at a stage, closes by the clock or at a stage. */
const windowSchema = z
  .strictObject({
    /** What may be done in it, in the sheet's words: "overcoat without sanding". */
    for: z.string().min(1),
    opensAt: z.union([z.literal("finish"), stageNameSchema]).default("finish"),
    closesAfterMinutes: z.number().positive().optional(),
    /** The minutes hold at this panel temperature and run with the panel's own by the activation energy; without it they run by the clock. */
    atC: z.number().optional(),
    closesAt: stageNameSchema.optional(),
    /** What must be done when it was missed. */
    ifMissed: z.string().min(1),
  })
  .refine(
    (window) => (window.closesAfterMinutes === undefined) !== (window.closesAt === undefined),
    "expected either closesAfterMinutes or closesAt",
  )
  .refine(
    (window) => window.atC === undefined || window.closesAfterMinutes !== undefined,
    "expected closesAfterMinutes with atC, the temperature that those minutes hold at",
  );

const spraySchema = z.strictObject({
  nozzleMm: z.string().min(1),
  inletPressureBar: z.strictObject({
    from: z.number().positive(),
    to: z.number().positive(),
    limit: z.number().positive(),
  }),
});

const mixSchema = z
  .array(z.strictObject({ component: z.string().min(1).max(40), parts: z.number().positive() }))
  .min(1)
  .max(12)
  .refine((mix) => new Set(mix.map(({ component }) => component)).size === mix.length, "expected each component once");

const wholeSheetSchema = z.strictObject({
  id: z.string().regex(/^[a-z0-9][a-z0-9-]{0,62}$/),
  revision: z.number().int().positive(),
  name: z.string().min(1),
  /** True for demo materials: shown as invented wherever the sheet is shown. */
  invented: z.boolean().default(false),
  /** What it is, in the trade's word: pre-treatment, surfacer, sealer, basecoat, clearcoat … */
  kind: z.string().min(1).max(40),
  film: z.strictObject({ dryUm: z.number().positive() }),
  /** Share of the unthinned paint's volume that stays as film. */
  solidsByVolumePercent: z.number().positive().max(100).optional(),
  /** Time goes with film build to this power; 1 for reaction, moisture and water, 1.5 for solvent (assumed) when absent. */
  filmExponent: z.number().nonnegative().optional(),
  airSpeedMps: z.number().nonnegative().default(0.2),
  activationEnergyKJ: z.number().positive().default(50),
  humiditySensitivity: z.number().default(0),
  stages: z.array(stageSchema).min(1),
  /** From the laboratory; the stages then carry percentages and no minutes. */
  kinetics: kineticsSchema.optional(),
  limits: limitsSchema.optional(),
  windows: z.array(windowSchema).default([]),
  /** As printed: "2 : 1 : 10 % with hardener and thinner". */
  mixRatio: z.string().optional(),
  /** The same in parts by volume; `thinner` and `water` bring no film. */
  mix: mixSchema.optional(),
  /** How many coats the film build is for; 1 when absent. */
  usualCoats: z.number().int().min(1).max(10).optional(),
  /** Of a pre-treatment that is wiped on. */
  squareMetresPerWipe: z.number().positive().optional(),
  potLifeMinutesAt20C: z.number().positive().optional(),
  coats: z.string().optional(),
  flashBetweenCoats: z.string().optional(),
  spray: spraySchema.optional(),
  cautions: z.array(z.string().min(1)).default([]),
});

/** Told beside whatever else does not fit, so that all is said at once: what stands there may be anything. */
const minutesOrPercent = new z.core.$ZodCheck({ check: "custom", when: () => true });
minutesOrPercent._zod.check = ({ value, issues }) => {
  const { kinetics, stages } = (value ?? {}) as Partial<Record<string, unknown>>;
  const fault = (index: number, key: "minutesAtC" | "curePercent", message: string) =>
    issues.push({ code: "custom", path: ["stages", index, key], message, input: value });
  for (const [index, stage] of (Array.isArray(stages) ? stages : []).entries()) {
    const { minutesAtC, curePercent } = (stage ?? {}) as Partial<SheetStage>;
    if (kinetics === undefined) {
      if (minutesAtC === undefined) fault(index, "minutesAtC", "expected minutes at one temperature or more");
      continue;
    }
    if (minutesAtC !== undefined) fault(index, "minutesAtC", "expected none: the kinetics give the times");
    if (curePercent === undefined) fault(index, "curePercent", "expected the percentage at which kinetics reach it");
  }
};

/** Every stage has minutes or, on a sheet with kinetics, a percentage instead. */
export const sheetSchema = wholeSheetSchema.check(minutesOrPercent);

export type Sheet = z.infer<typeof sheetSchema>;
export type SheetStage = z.infer<typeof stageSchema>;
export type SheetWindow = z.infer<typeof windowSchema>;
export type SheetLimits = z.infer<typeof limitsSchema>;
