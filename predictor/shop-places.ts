/** The places of a shop file. */
import { z } from "zod";
import { hoursSchema, type WeeklyHours, weeklyHours } from "./shop-hours.ts";

export const placeKinds = ["booth", "prep", "workshop", "yard", "mixing"] as const;
export type PlaceKind = (typeof placeKinds)[number];

const sensorReference = z
  .string()
  .regex(/^[a-z0-9][a-z0-9-]*\/[a-z0-9][a-z0-9-]*$/, "expected <collector>/<sensor>, such as booth-pi/plenum");

export const placeSchema = z.strictObject({
  /** Longer ones could not be read from across the booth. */
  name: z.string().min(1).max(28, "expected at most 28 characters, to be read on the wall from afar"),
  kind: z.enum(placeKinds),
  sensors: z.strictObject({
    "air-temperature": sensorReference,
    "air-humidity": sensorReference.optional(),
    "panel-temperature": sensorReference.optional(),
    "air-speed": sensorReference.optional(),
  }),
  /** A second sensor of a quantity, that nothing is reckoned from: the two are compared, so that drift is found. */
  compare: z
    .strictObject({
      "air-temperature": sensorReference.optional(),
      "air-humidity": sensorReference.optional(),
      "panel-temperature": sensorReference.optional(),
      "air-speed": sensorReference.optional(),
    })
    .optional(),
  /** Where no sensor tells the air speed: the usual one, as measured by whoever commissioned the place. */
  airSpeedMps: z.number().nonnegative().max(10).optional(),
  /** Ids of the sheets sprayed here, by which the spray verdict judges; all sheets when absent. */
  sheets: z.array(z.string()).optional(),
  /** When it is heated as a rule; not known when absent. */
  heating: hoursSchema.optional(),
});
export type PlaceSettings = z.infer<typeof placeSchema>;

/** When a place is heated as a rule; undefined where the shop file does not say. */
export function heatingHours(place: Pick<PlaceSettings, "heating">): WeeklyHours | undefined {
  return place.heating && weeklyHours(place.heating);
}

/** The first place of a kind, in the order of the shop file. */
export function firstOfKind(places: Readonly<Record<string, PlaceSettings>>, kind: PlaceKind): string | undefined {
  return Object.keys(places).find((id) => places[id]?.kind === kind);
}
