/**
 * Cure kinetics from the laboratory (DSC, FTIR), as a sheet carries them: dα/dt = k(α, T)·(1 − α)^n, α being the
 * chemical conversion. `kinetic-law.ts` turns them into rates. docs/sheets.md describes the form.
 */
import { z } from "zod";

/** k = A·exp(−E/(R·T)). */
const arrheniusSchema = z.strictObject({
  preExponentialPerSecond: z.number().nonnegative().max(1e50),
  activationEnergyKJ: z.number().nonnegative().max(500),
});

/**
 * Vitrification: T_g(α) after DiBenedetto, and the Rabinowitch rule 1/k = 1/k_chem + 1/k_diff with
 * k_diff = k_g·exp(C1·(T − T_g)/(C2 + |T − T_g|)), the WLF form carried on below T_g (Wisanrakkit and Gillham, J. Appl.
 * Polym. Sci. 42, 1990; from memory). C1 and C2 are the universal WLF constants, 17.44·ln 10 and 51.6 K, where a sheet
 * gives none (assumed to hold).
 */
const glassSchema = z
  .strictObject({
    tgUncuredC: z.number().min(-200).max(400),
    tgCuredC: z.number().min(-200).max(400),
    lambda: z.number().positive().max(1),
    /** k_g: how fast diffusion would let it react at T_g. */
    diffusionAtTgPerSecond: z.number().positive().max(1e50),
    wlfC1: z.number().positive().max(100).default(40.16),
    wlfC2K: z.number().positive().max(500).default(51.6),
  })
  .refine(({ tgUncuredC, tgCuredC }) => tgUncuredC < tgCuredC, "expected tgUncuredC below tgCuredC");

/** Groups A of functionality f that react with groups B of functionality g; the conversion is that of A. */
const gelSchema = z.strictObject({
  functionalityA: z.number().min(2).max(100),
  functionalityB: z.number().min(2).max(100),
  /** Groups A for each group B. */
  ratio: z.number().positive().max(1).default(1),
});

const common = {
  /** n, the power of 1 − α. */
  order: z.number().nonnegative().max(10),
  /** Conversion at the finish: what reacted in the pot, or the seed that a purely autocatalytic reaction needs. */
  initialConversion: z.number().nonnegative().max(0.9).default(0),
  glass: glassSchema.optional(),
  gel: gelSchema.optional(),
  /** Temperatures that were measured at. */
  validC: z
    .strictObject({ min: z.number(), max: z.number() })
    .refine(({ min, max }) => min < max, "expected min below max"),
};

/** n-th order: k = k1. */
const nthOrderSchema = z.strictObject({
  model: z.literal("nth-order"),
  reaction: arrheniusSchema.refine((each) => each.preExponentialPerSecond > 0, "expected a rate above 0"),
  ...common,
});

/** Kamal–Sourour: k = k1 + k2·α^m. */
const kamalSourourSchema = z
  .strictObject({
    model: z.literal("kamal-sourour"),
    /** k1, which needs no product. */
    reaction: arrheniusSchema,
    /** k2, helped on by what has reacted. */
    autocatalysis: arrheniusSchema,
    /** m. */
    autocatalyticOrder: z.number().positive().max(10),
    ...common,
  })
  .refine(
    (each) =>
      each.reaction.preExponentialPerSecond > 0 ||
      (each.initialConversion > 0 && each.autocatalysis.preExponentialPerSecond > 0),
    "expected a reaction with a rate above 0, or an initialConversion that autocatalysis can start from",
  );

export const kineticsSchema = z.discriminatedUnion("model", [nthOrderSchema, kamalSourourSchema]);
export type Kinetics = z.infer<typeof kineticsSchema>;
export type Glass = z.infer<typeof glassSchema>;
export type Gel = z.infer<typeof gelSchema>;
