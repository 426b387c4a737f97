/** From a SenML record to a reading: names, the quantity and its unit, an instant, the mark. */
import { lastLevel, markSchema, nameSchema, type Quantity, quantities } from "../../collector/readings.ts";
import { type ResolvedRecord, SenmlFault } from "./senml.ts";
import { furthestMs, type StoredReading } from "./store.ts";

/** A resolved record as a reading of ours: name `<collector>/<sensor>/<quantity>`, the quantity's own unit, a number. Throws SenmlFault for another. */
export function readingOf(record: ResolvedRecord): StoredReading {
  const [collector = "", sensor, quantity, ...rest] = record.n.split("/");
  if (sensor === undefined || quantity === undefined || rest.length > 0) {
    throw new SenmlFault(null, `name "${record.n}": expected <collector>/<sensor>/<quantity>`);
  }
  if (!Object.hasOwn(quantities, quantity)) {
    throw new SenmlFault(null, `quantity "${quantity}": expected ${Object.keys(quantities).join(", ")}`);
  }
  const { unit } = quantities[quantity as Quantity];
  if (record.u !== unit)
    throw new SenmlFault(null, `unit of ${record.n}: expected ${unit}, found ${record.u ?? "none"}`);
  if (!nameSchema.safeParse(collector).success)
    throw new SenmlFault(null, `name "${record.n}": "${collector}" is no collector's name`);
  if (!nameSchema.safeParse(sensor).success)
    throw new SenmlFault(null, `name "${record.n}": "${sensor}" is no sensor's name`);
  if (record.v === undefined || !Number.isFinite(record.v))
    throw new SenmlFault(null, `value of ${record.n}: expected a number in v`);
  const atMs = Math.round(record.t * 1000);
  if (!(Math.abs(atMs) <= furthestMs)) {
    throw new SenmlFault(null, `time of ${record.n}: ${record.t} s is no date from 1678 to 2261`);
  }
  const mark = record.quality === undefined ? undefined : markSchema.safeParse(record);
  if (mark !== undefined && !mark.success) {
    throw new SenmlFault(
      null,
      `mark of ${record.n}: ${mark.error.issues[0]?.path.join(".")} is none that is agreed on`,
    );
  }
  return {
    collector,
    sensor,
    quantity: quantity as Quantity,
    atMs,
    value: record.v,
    ...(mark && { mark: mark.data }),
  };
}

/** For an intake: by `readings/<collector>` a collector may send its own readings only. */
export const ofCollectors = {
  senderOf: lastLevel,
  readingOf(record: ResolvedRecord, collector: string): StoredReading {
    const reading = readingOf(record);
    if (reading.collector === collector) return reading;
    throw new SenmlFault(null, `name "${record.n}" is not of collector ${collector}, whose topic it came by`);
  },
};
