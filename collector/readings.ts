/**
 * The contract between collectors and predictors: MQTT topics, SenML packs and the messages about them.
 * Consumers import it from here. docs/mqtt.md says the same in prose.
 */
import { createHash } from "node:crypto";
import { z } from "zod";

/** What a sensor can measure, with its SenML unit (RFC 8428 §12.1) and the range beyond which a value is no measurement. */
export const quantities = {
  "air-temperature": { unit: "Cel", lowest: -40, highest: 85 },
  "air-humidity": { unit: "%RH", lowest: 0, highest: 100 },
  "panel-temperature": { unit: "Cel", lowest: -40, highest: 150 },
  "air-speed": { unit: "m/s", lowest: 0, highest: 60 },
  "air-pressure": { unit: "Pa", lowest: 30_000, highest: 110_000 },
} as const;

export type Quantity = keyof typeof quantities;
export const quantityNames = Object.keys(quantities) as Quantity[];

/** Whether a value can be a measurement at all; false for NaN. */
export function isPhysical(quantity: Quantity, value: number): boolean {
  const { lowest, highest } = quantities[quantity];
  return value >= lowest && value <= highest;
}

/** How far a reading that is not simply good can be used: `doubtful` with a question, `bad` not at all. */
export const qualities = ["doubtful", "bad"] as const;

/** Why it is not simply good; see collector/quality.ts. */
export const whys = ["out of range", "spike", "fast change", "stuck"] as const;

/** What the collector found against a reading; a good one has no mark. */
export const markSchema = z.object({ quality: z.enum(qualities), why: z.enum(whys) });
export type Mark = z.infer<typeof markSchema>;

/** Whether a reading may enter a calculation: a value that can be a measurement and is not marked bad. All are kept in the store. */
export function isUsable({ quantity, value, mark }: Pick<Reading, "quantity" | "value" | "mark">): boolean {
  return mark?.quality !== "bad" && isPhysical(quantity, value);
}

/** Names of shops, collectors, sensors, places: safe in a topic, a SenML name, a URL and a file name. */
export const nameSchema = z
  .string()
  .regex(
    /^[a-z0-9][a-z0-9-]{0,62}$/,
    "expected lower-case letters, digits and hyphens, starting with a letter or digit, at most 63",
  );

export function topicsOf(shop: string) {
  const base = `coatclock/1/${shop}`;
  return {
    readings: (collector: string) => `${base}/readings/${collector}`,
    allReadings: `${base}/readings/+`,
    receipts: (collector: string) => `${base}/receipts/${collector}`,
    collectors: (collector: string) => `${base}/collectors/${collector}`,
    allCollectors: `${base}/collectors/+`,
    time: `${base}/time`,
    readiness: (job: string, coat: string) => `${base}/readiness/${job}/${coat}`,
    warnings: (place: string, rule: string) => `${base}/warnings/${place}/${rule}`,
    /** The newest entry of the records, for another machine to witness. */
    recordsHead: `${base}/records/head`,
  };
}

/** The last level of a topic: the collector's name in `readings/<collector>` and `collectors/<collector>`. */
export function lastLevel(topic: string): string {
  return topic.slice(topic.lastIndexOf("/") + 1);
}

/** One measured value. `atMs` is UTC milliseconds; `value` is in the quantity's SenML unit. */
export interface Reading {
  sensor: string;
  quantity: Quantity;
  atMs: number;
  value: number;
  /** Absent from a good reading. */
  mark?: Mark;
}

/** A SenML record as it travels, before it is resolved: base fields and all (RFC 8428 §4). Unknown labels pass through. */
export const senmlRecordSchema = z.looseObject({
  bn: z.string().optional(),
  bt: z.number().optional(),
  bu: z.string().optional(),
  bv: z.number().optional(),
  bs: z.number().optional(),
  bver: z.number().int().positive().optional(),
  n: z.string().optional(),
  u: z.string().optional(),
  t: z.number().optional(),
  ut: z.number().nonnegative().optional(),
  v: z.number().optional(),
  vs: z.string().optional(),
  vb: z.boolean().optional(),
  vd: z.string().optional(),
  s: z.number().optional(),
  // Not of RFC 8428, whose §4.4 has others ignore them: the reading's mark.
  quality: z.string().optional(),
  why: z.string().optional(),
});
export type SenmlRecord = z.infer<typeof senmlRecordSchema>;
export const senmlPackSchema = z.array(senmlRecordSchema).min(1);

/** Readings of one sensor as a SenML pack: base name `<collector>/<sensor>/`, base time the first reading's, in seconds. */
export function packOf(collector: string, readings: readonly Reading[]): SenmlRecord[] {
  const first = readings[0];
  if (first === undefined) throw new RangeError("a pack needs at least one reading");
  return readings.map((reading, index) => {
    if (reading.sensor !== first.sensor) throw new RangeError("a pack holds the readings of one sensor");
    const offsetS = (reading.atMs - first.atMs) / 1000;
    return {
      ...(index === 0 ? { bn: `${collector}/${first.sensor}/`, bt: first.atMs / 1000 } : {}),
      n: reading.quantity,
      u: quantities[reading.quantity].unit,
      ...(offsetS === 0 ? {} : { t: offsetS }),
      v: reading.value,
      ...reading.mark,
    };
  });
}

const recordsPerPack = 100;

/** Readings of any sensors as packs: one sensor's in each, at most 100 records. */
export function packsOf(collector: string, readings: readonly Reading[]): SenmlRecord[][] {
  const packs: SenmlRecord[][] = [];
  for (const sensor of new Set(readings.map((reading) => reading.sensor))) {
    const ofSensor = readings.filter((reading) => reading.sensor === sensor);
    for (let from = 0; from < ofSensor.length; from += recordsPerPack) {
      packs.push(packOf(collector, ofSensor.slice(from, from + recordsPerPack)));
    }
  }
  return packs;
}

/**
 * The identity of a pack on the wire: a digest of its bytes. A receipt names it, so that receipts work over MQTT 3.1.1,
 * which has no correlation data, just as over MQTT 5.
 */
export function packDigest(payload: Uint8Array): string {
  return createHash("sha256").update(payload).digest("hex").slice(0, 32);
}

/** Published to `receipts/<collector>` once a pack is committed to the store, or refused for good. */
export const receiptSchema = z.object({
  pack: z.string(),
  status: z.enum(["stored", "refused"]),
  /** Why it was refused; absent when stored. */
  reason: z.string().optional(),
});
export type Receipt = z.infer<typeof receiptSchema>;

/** Published to `time` every few seconds by a predictor: its clock, for collectors that cannot believe their own, and a sign of life for lamps. */
export const timeSignalSchema = z.object({
  at: z.iso.datetime({ offset: true }),
  /** Whether the predictor itself believes its clock. */
  believed: z.boolean(),
});
export type TimeSignal = z.infer<typeof timeSignalSchema>;

/**
 * Whether a machine's clock can be believed, and by what: a time service (`synchronised`), the predictor's time
 * (`by predictor`), or the installer's word (`trusted`). `unknown`: no service says anything, and it is believed.
 * Not believed: `unsynchronised`, and `jumped` until the new time has stood for a while. See collector/clock.ts.
 */
export const clockStates = ["synchronised", "by predictor", "trusted", "unknown", "unsynchronised", "jumped"] as const;
export type ClockState = (typeof clockStates)[number];

export function isBelieved(clock: ClockState): boolean {
  return clock !== "unsynchronised" && clock !== "jumped";
}

/** Retained on `collectors/<collector>`: birth, and (online false) the last will. */
export const collectorStateSchema = z.object({
  online: z.boolean(),
  since: z.iso.datetime({ offset: true }),
  version: z.string(),
  sensors: z.array(z.string()),
  /** Packs waiting for their receipt. */
  outboxPacks: z.number().int().nonnegative(),
  /** Packs dropped without a receipt, because the outbox was full, since the collector's start. */
  droppedPacks: z.number().int().nonnegative().optional(),
  /** Packs that were refused for good since the collector's start. */
  refusedPacks: z.number().int().nonnegative().optional(),
  /** Packs that wait until their instants are known, because the clock is not believed yet; they are in outboxPacks too. */
  undatedPacks: z.number().int().nonnegative().optional(),
  /** What keeps packs from being kept as they should, or was found damaged, in words; null while all is well. */
  outboxFault: z.string().nullable().optional(),
  clock: z.enum(clockStates),
  /** What each source has met since it started: its state in words and its counters of refused input. */
  sources: z
    .array(z.object({ source: z.string(), state: z.string(), counters: z.record(z.string(), z.number()) }))
    .default([]),
});
export type CollectorState = z.infer<typeof collectorStateSchema>;

/** What a message holds, to be checked by a schema; undefined where it is no JSON. */
export function jsonIn(payload: Buffer): unknown {
  try {
    return JSON.parse(payload.toString("utf8"));
  } catch {
    return undefined;
  }
}
