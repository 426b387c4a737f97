/** What the shop file says about collectors and their sources; the collector's side of that contract. */
import { z } from "zod";
import { nameSchema, quantityNames } from "./readings.ts";

const quantitySchema = z.enum(quantityNames);

const playbackSchema = z.strictObject({
  kind: z.literal("playback"),
  /** CSV with a header row; a relative path is taken from the shop file's folder. */
  file: z.string().min(1),
  delimiter: z.string().length(1).default(","),
  time: z.strictObject({
    column: z.string().min(1),
    /** `iso`, `unix-seconds`, `unix-milliseconds`, or a pattern of Luxon's format tokens such as `yyyy-MM-dd HH:mm:ss`. */
    format: z.string().min(1),
    /** IANA zone of times that carry no offset; the shop's own when absent. */
    zone: z.string().optional(),
  }),
  columns: z.array(z.strictObject({ column: z.string().min(1), sensor: nameSchema, quantity: quantitySchema })).min(1),
  /** `original`: the file's own instants. `now`: shifted so that its first row falls at the start of playing. */
  instants: z.enum(["original", "now"]).default("original"),
  /** Rows are sent this many times faster than they were recorded; `all` sends them at once. */
  speed: z.union([z.number().positive(), z.literal("all")]).default(1),
});

const serialSchema = z.strictObject({
  kind: z.literal("serial"),
  /** A stable name: /dev/serial/by-id/… */
  path: z.string().startsWith("/", "expected an absolute path such as /dev/serial/by-id/usb-…"),
  baud: z.number().int().positive().default(9600),
  /** Sensors that the line may name; others are counted and skipped. */
  sensors: z.array(nameSchema).min(1),
  /** Reopen the port when nothing valid came for this long. */
  silenceSeconds: z.number().positive().default(30),
});

const rehearsalSchema = z.strictObject({
  kind: z.literal("rehearsal"),
  /** Which invented room's physics to play. */
  room: z.enum(["booth", "prep", "workshop", "yard", "mixing"]),
  sensor: nameSchema,
  everySeconds: z.number().positive().default(5),
  /** Hours of invented past sent at the first start, so that charts are full. */
  pastHours: z
    .number()
    .nonnegative()
    .max(24 * 14)
    .default(26),
  seed: z.number().int().nonnegative().default(1),
});

export const sourceSchema = z.discriminatedUnion("kind", [playbackSchema, serialSchema, rehearsalSchema]);
export type SourceSettings = z.infer<typeof sourceSchema>;
export type PlaybackSettings = z.infer<typeof playbackSchema>;
export type SerialSettings = z.infer<typeof serialSchema>;
export type RehearsalSettings = z.infer<typeof rehearsalSchema>;

export const collectorSchema = z.strictObject({ sources: z.array(sourceSchema).min(1) });
export type CollectorSettings = z.infer<typeof collectorSchema>;

/** How to reach the broker; the predictor and every collector use the same. */
export interface BrokerAddress {
  url: string;
  /** 5, or 4 for MQTT 3.1.1 (what the embedded broker speaks). */
  protocolVersion: 4 | 5;
  username?: string;
  password?: string;
  /** PEM text of the authority that signed the broker's certificate, where it is not a public one. */
  ca?: string;
}

/** Names of the sensors a source can produce. */
export function sensorsOf(source: SourceSettings): string[] {
  switch (source.kind) {
    case "playback":
      return [...new Set(source.columns.map((column) => column.sensor))];
    case "serial":
      return source.sensors;
    case "rehearsal":
      return [source.sensor];
  }
}
