/** The contract over HTTP, the work at hand: may it be sprayed now and later, and how much to mix. */
import { z } from "zod";
import { placeSchema, shopSchema, sprayCheckSchema } from "./api.ts";

const instant = z.iso.datetime({ offset: true });

/** The spray check of a place for a sheet: now, and in the hours ahead. */
export const sprayOutlookSchema = z.object({
  shop: shopSchema,
  place: placeSchema,
  now: sprayCheckSchema,
  /** In words, as the wall says it. */
  reason: z.string(),
  ahead: z.array(z.object({ at: instant, state: sprayCheckSchema.shape.state, worst: z.string() })),
  /** The sheet's, and those of the work itself: air-fed protection, extraction, sensitisation. */
  cautions: z.array(z.string()),
  /** Minutes of extraction before masks come off, as the site has measured; null when nobody has entered it. */
  clearanceMinutes: z.number().nullable(),
});
export type SprayOutlook = z.infer<typeof sprayOutlookSchema>;

/** A panel that the outline of a car shows. */
export const knownPanelSchema = z.object({
  name: z.string(),
  substrate: z.enum(["steel", "aluminium", "plastic"]),
  /** Typical area (assumed). */
  areaM2: z.number(),
});
export const knownPanelsSchema = z.object({ panels: z.array(knownPanelSchema) });

/** How much to mix for some panels. */
export const mixQuantitySchema = z.object({
  areaM2: z.number(),
  coats: z.number(),
  dryFilmUm: z.number(),
  /** Ready to spray; the sum of the components. */
  litres: z.number(),
  components: z.array(z.object({ component: z.string(), litres: z.number() })),
  /** The next handy pot; null when it takes more than the largest. */
  potLitres: z.number().nullable(),
  /** Of a pre-treatment that is wiped on; null for paint. */
  wipes: z.number().nullable(),
  /** What was assumed, in words. */
  assumptions: z.array(z.string()),
});
export type MixQuantity = z.infer<typeof mixQuantitySchema>;
