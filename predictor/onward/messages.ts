/**
 * The contract between a shop and the head office that it tells what it holds: topics and messages. Readings travel as SenML
 * packs as they do from collectors. docs/mqtt.md says the same in prose.
 */
import { z } from "zod";
import { nameSchema, quantityNames } from "../../collector/readings.ts";
import { languages } from "../../words/words.ts";
import { bookRowSchema } from "../proof/book-row.ts";
import { placeKinds } from "../shop-places.ts";

/** Everything here lies below `onward/`, so that a bridge needs one line each way. `+` for the shop makes filters of them. */
export function onwardTopics(shop: string) {
  const base = `coatclock/1/${shop}/onward`;
  return {
    readings: `${base}/readings`,
    receipts: `${base}/receipts`,
    records: `${base}/records`,
    book: `${base}/book`,
    shop: `${base}/shop`,
    have: `${base}/have`,
  };
}

/** The shop that a topic of onwardTopics is of; the empty text for another topic. */
export function shopOf(topic: string): string {
  const [first, version, shop = "", part] = topic.split("/");
  return first === "coatclock" && version === "1" && part === "onward" ? shop : "";
}

const hashSchema = z.string().regex(/^[0-9a-f]{64}$/);

/** Entries of the log, one after another, oldest first; each text as its bytes were hashed. */
export const recordsMessageSchema = z.object({
  entries: z.array(z.object({ entry: z.string(), hash: hashSchema })).min(1),
});
export type RecordsMessage = z.infer<typeof recordsMessageSchema>;

/**
 * Rows of the book of coats by the number of their last change, in its order: all that were changed after the number `after`,
 * up to the last one here. `epoch` is another for each book that is begun.
 */
export const bookMessageSchema = z.object({
  epoch: z.string().min(1),
  after: z.number().int().nonnegative(),
  rows: z.array(z.object({ number: z.number().int().positive(), row: bookRowSchema })),
});
export type BookMessage = z.infer<typeof bookMessageSchema>;

const sensorSchema = z.string().regex(/^[a-z0-9][a-z0-9-]*\/[a-z0-9][a-z0-9-]*$/);

/** Retained: what the pages of a head office need of the shop file. */
export const shopDescriptionSchema = z.object({
  shop: nameSchema,
  name: z.string().min(1),
  invented: z.boolean(),
  language: z.enum(languages),
  timeZone: z.string(),
  units: z.object({ temperature: z.enum(["C", "F"]), clock: z.enum(["24h", "12h"]) }),
  places: z.record(
    nameSchema,
    z.object({
      name: z.string().min(1),
      kind: z.enum(placeKinds),
      /** `<collector>/<sensor>` of each quantity. */
      sensors: z.partialRecord(z.enum(quantityNames), sensorSchema),
    }),
  ),
});
export type ShopDescription = z.infer<typeof shopDescriptionSchema>;

/** Retained: how far the head office holds a shop's log and book. Receipt, and request for what comes after, in one. */
export const haveSchema = z.object({
  /** The last entry held; 0 and 64 zeros for none. */
  records: z.object({ seq: z.number().int().nonnegative(), hash: hashSchema }),
  /** The empty epoch where nothing is held. */
  book: z.object({ epoch: z.string(), number: z.number().int().nonnegative() }),
  /** Why nothing further of the log is taken, in words; null while all is well. */
  fault: z.string().nullable(),
});
export type Have = z.infer<typeof haveSchema>;
