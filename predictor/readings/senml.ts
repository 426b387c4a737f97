/** Resolves SenML packs by RFC 8428 §4; the clauses stand beside the lines that obey them. */
import { type SenmlRecord, senmlPackSchema } from "../../collector/readings.ts";

/** A record with no base fields left and an absolute time. */
export interface ResolvedRecord {
  n: string;
  u?: string;
  /** Seconds since 1970-01-01T00:00Z. */
  t: number;
  ut?: number;
  v?: number;
  vs?: string;
  vb?: boolean;
  vd?: string;
  s?: number;
  bver?: number;
  /** The collector's mark, see collector/readings.ts. */
  quality?: string;
  why?: string;
}

/** A pack with relative times, while the resolver's own clock is not known. */
export class UndatedPack extends Error {}

/** Why a pack was refused; a pack is used whole or not at all. */
export class SenmlFault extends Error {
  constructor(record: number | null, reason: string) {
    super(record === null ? reason : `record ${record + 1}: ${reason}`);
    this.name = "SenmlFault";
  }
}

const understoodVersion = 10;
/** Times below this are relative to now (§4.5.3). */
const relativeBelowS = 2 ** 28;
const nameForm = /^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/;
const baseLabels = new Set(["bn", "bt", "bu", "bv", "bs", "bver"]);
const labels = new Set([...baseLabels, "n", "u", "v", "vs", "vb", "vd", "s", "t", "ut"]);
const valueLabels = ["v", "vs", "vb", "vd"] as const;

/**
 * Resolves a parsed JSON value as a SenML pack, in chronological order (§4.6).
 * `nowS`: the resolver's own clock in Unix seconds, for relative times; null while it is not believed, and then a pack that
 * needs it throws UndatedPack. Throws SenmlFault when the pack must not be used.
 */
export function resolveSenml(pack: unknown, nowS: number | null): ResolvedRecord[] {
  const parsed = senmlPackSchema.safeParse(pack);
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    const [index, label] = issue?.path ?? [];
    throw new SenmlFault(
      typeof index === "number" ? index : null,
      `${label === undefined ? "" : `${String(label)}: `}${issue?.message ?? "not a SenML pack"}`,
    );
  }

  const resolved: ResolvedRecord[] = [];
  let baseName = "";
  let baseTimeS = 0;
  let baseUnit: string | undefined;
  let baseValue: number | undefined;
  let baseSum: number | undefined;
  let version: number | undefined;

  for (const [index, record] of parsed.data.entries()) {
    refuseMandatoryExtensions(record, index);
    baseName = record.bn ?? baseName;
    baseTimeS = record.bt ?? baseTimeS;
    baseUnit = record.bu ?? baseUnit;
    baseValue = record.bv ?? baseValue;
    baseSum = record.bs ?? baseSum;
    // §4.4: one version a pack; a version above the one understood must not be used.
    const recordVersion: number = record.bver ?? version ?? understoodVersion;
    if (recordVersion > understoodVersion) throw new SenmlFault(index, `version ${recordVersion} is not understood`);
    if (version !== undefined && recordVersion !== version) {
      throw new SenmlFault(index, `version ${recordVersion} differs from the pack's ${version}`);
    }
    version = recordVersion;
    if (Object.keys(record).every((label) => baseLabels.has(label) || !labels.has(label))) continue;

    const name = baseName + (record.n ?? "");
    if (!nameForm.test(name)) throw new SenmlFault(index, `name "${name}" is not allowed (RFC 8428 §4.5.1)`);
    const timeS = baseTimeS + (record.t ?? 0);
    const unit = record.u ?? baseUnit;
    resolved.push({
      n: name,
      ...(unit === undefined ? {} : { u: unit }),
      t: absoluteS(timeS, nowS),
      ...(record.ut === undefined ? {} : { ut: record.ut }),
      ...valueFields(record, index, baseValue, baseSum),
      ...(version === understoodVersion ? {} : { bver: version }),
      ...(record.quality === undefined ? {} : { quality: record.quality }),
      ...(record.why === undefined ? {} : { why: record.why }),
    });
  }
  return resolved.sort((a, b) => a.t - b.t);
}

/** §4.5.3. */
function absoluteS(timeS: number, nowS: number | null): number {
  if (!(timeS < relativeBelowS)) return timeS;
  if (nowS === null) throw new UndatedPack();
  return nowS + timeS;
}

/** §4.4: a label ending in "_" that is not understood makes the pack unusable; other unknown labels are ignored. */
function refuseMandatoryExtensions(record: SenmlRecord, index: number): void {
  const label = Object.keys(record).find((key) => key.endsWith("_") && !labels.has(key));
  if (label !== undefined) throw new SenmlFault(index, `field "${label}" must be understood and is not`);
}

/** §4.2 and §4.5.4: one value at the most, none only beside a sum or a base value; base value and base sum are added. */
function valueFields(
  record: SenmlRecord,
  index: number,
  baseValue: number | undefined,
  baseSum: number | undefined,
): Pick<ResolvedRecord, "v" | "vs" | "vb" | "vd" | "s"> {
  const given = valueLabels.filter((label) => record[label] !== undefined);
  if (given.length > 1) throw new SenmlFault(index, `more than one value (${given.join(", ")})`);
  const sum = record.s === undefined && baseSum === undefined ? {} : { s: (record.s ?? 0) + (baseSum ?? 0) };
  if (record.vs !== undefined) return { vs: record.vs, ...sum };
  if (record.vb !== undefined) return { vb: record.vb, ...sum };
  if (record.vd !== undefined) return { vd: record.vd, ...sum };
  if (record.v === undefined && baseValue === undefined) {
    if (!("s" in sum)) throw new SenmlFault(index, "no value");
    return sum;
  }
  return { v: (record.v ?? 0) + (baseValue ?? 0), ...sum };
}
