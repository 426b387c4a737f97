/** The contract of a head office's pages: copies of several shops, to be read. What one shop tells of itself is in api.ts and proof-api.ts. */
import { z } from "zod";
import { coatViewSchema, placeSchema, shopAndPlacesSchema, shopSchema, stageViewSchema } from "./api.ts";
import { shareFoundSchema, spanFiguresSchema } from "./prediction-api.ts";
import { coatFileSchema, logQuerySchema, logRowSchema, logSchema, logSorts } from "./proof-api.ts";

const instant = z.iso.datetime({ offset: true });
const id = z.string().min(1).max(64);

/** A shop by its name, or by its id while it has told nothing of itself. */
export const shopNameSchema = z.object({ id, name: z.string() });
export type ShopName = z.infer<typeof shopNameSchema>;

/** `waiting` for its first word; `silent` when nothing came for a quarter of an hour; `doubtful` when entries of its log did not fit what is held. */
export const heldStates = ["up-to-date", "silent", "waiting", "doubtful"] as const;
export type HeldState = (typeof heldStates)[number];

/** How far a shop's copy goes. */
export const heldSchema = shopNameSchema.extend({
  invented: z.boolean(),
  state: z.enum(heldStates),
  /** When anything last came from it; null when nothing has since this program started. */
  lastHeardAt: instant.nullable(),
  /** How many entries of its log are held. */
  entries: z.number(),
  /** When the last of them was entered. */
  lastEntryAt: instant.nullable(),
  /** The newest reading of any of its places. */
  readingsUntil: instant.nullable(),
  /** Coats with their figures. */
  coats: z.number(),
  /** What did not fit, in words. */
  fault: z.string().nullable(),
});
export type Held = z.infer<typeof heldSchema>;
export const heldShopsSchema = z.object({ shops: z.array(heldSchema), asOf: instant });
export type HeldShopsView = z.infer<typeof heldShopsSchema>;

/** As /api/shop is asked for: the head office itself, which has no places, and the shops with theirs. */
export const officeSchema = shopAndPlacesSchema.extend({
  shops: z.array(
    shopNameSchema.extend({
      ...shopSchema.pick({ invented: true, timeZone: true, units: true }).shape,
      places: z.array(placeSchema),
    }),
  ),
});
export type OfficeView = z.infer<typeof officeSchema>;

export const officeLogQuerySchema = logQuerySchema.extend({
  shop: id.optional(),
  sort: z.enum([...logSorts, "shop"]).default("finished"),
});
export type OfficeLogQuery = z.infer<typeof officeLogQuerySchema>;
export const officeLogPageQuerySchema = officeLogQuerySchema.extend({
  page: z.coerce.number().int().min(1).default(1),
  size: z.coerce.number().int().min(1).max(200).default(50),
});
export const officeLogSchema = logSchema.omit({ pending: true }).extend({
  rows: z.array(logRowSchema.extend({ shop: shopNameSchema })),
  /** The shops among those asked for whose copy is not up to date. */
  behind: z.array(shopNameSchema.extend({ state: z.enum(heldStates) })),
});
export type OfficeLogView = z.infer<typeof officeLogSchema>;

/** A coat as its shop told it: times of its stages, and nothing that is reckoned anew. */
export const heldCoatFileSchema = coatFileSchema.extend({
  coat: coatViewSchema.omit({ prediction: true }).extend({
    prediction: z
      .object({
        stages: z.array(stageViewSchema.pick({ stage: true, state: true, likelyAt: true, safeAt: true })),
        next: stageViewSchema.pick({ stage: true }).nullable(),
      })
      .nullable(),
  }),
  held: heldSchema,
});
export type HeldCoatFile = z.infer<typeof heldCoatFileSchema>;

export const comparisonQuerySchema = z.object({
  from: instant.optional(),
  to: instant.optional(),
  sheet: id.optional(),
});

const compared = z.object({
  span: spanFiguresSchema,
  /** Of all sheets together, as in a shop's own agreements. */
  agreement: z.object({
    between: z.number(),
    /** Found ÷ told likely, with its 95 % interval. */
    fit: z.object({ ratio: z.number(), ratioLow: z.number(), ratioHigh: z.number() }).nullable(),
  }),
  /** Whether 'safe' keeps its promise. */
  atSafe: shareFoundSchema,
});
export type Compared = z.infer<typeof compared>;

/** The shops side by side over one span. */
export const comparisonSchema = z.object({
  from: instant,
  to: instant,
  sheets: z.array(z.object({ id, name: z.string() })),
  fewest: z.object({ brackets: z.number(), checks: z.number() }),
  shops: z.array(compared.extend({ shop: shopNameSchema, state: z.enum(heldStates) })),
  all: compared,
});
export type Comparison = z.infer<typeof comparisonSchema>;

export const officeHealthSchema = z.object({
  /** `attention` unless all shops are up to date. */
  state: z.enum(["ok", "attention"]),
  versions: z.object({ coatclock: z.string(), node: z.string() }),
  startedAt: instant,
  at: instant,
  shops: z.array(heldSchema),
});
