/** The cure model over one self-contained case: what `npm run predict` reads and what a record is checked with. */
import { z } from "zod";
import { wordsOf } from "../../words/words.ts";
import { type FaultLine, faultLines } from "../faults.ts";
import { type Ahead, type ClimateReading, noteCodes, type Outcome, type StageOutcome } from "./climb.ts";
import { CoatClimb } from "./coat-climb.ts";
import { readSheet } from "./ladder.ts";
import { substrates } from "./panel.ts";
import { type Sheet, stageNameSchema } from "./sheet.ts";

const instant = z.iso.datetime({ offset: true, error: "expected an instant such as 2026-02-04T07:30:00Z" });
const temperature = z.number().min(-60).max(300);

const readingSchema = z.strictObject({
  at: instant,
  airC: temperature,
  rhPercent: z.number().min(0).max(100),
  panelC: temperature.nullish(),
  airSpeedMps: z.number().nonnegative().nullish(),
  movedIn: z.boolean().optional(),
});

export type CaseReading = z.infer<typeof readingSchema>;

export const caseSchema = z.strictObject({
  name: z.string().optional(),
  sheet: z.unknown(),
  coat: z.strictObject({
    finishedAt: instant,
    filmUm: z.number().positive().optional(),
    substrate: z.enum(substrates),
    panelLagSeconds: z.number().positive().optional(),
    panelAtFinishC: temperature.optional(),
  }),
  /** None only where the case says as of when. */
  readings: z.array(readingSchema),
  asOf: instant.optional(),
  temperatureUncertaintyC: z.number().min(0).max(20).optional(),
  sheetSigma: z.number().min(0).max(5).optional(),
  rateFactor: z.number().positive().max(100).optional(),
  safeRateFactor: z.number().positive().max(100).optional(),
  /** How the running shop took what lay ahead, and what it added: absent, the last reading holds and nothing is added. */
  ahead: z
    .strictObject({ likely: z.array(readingSchema).min(1), cold: z.array(readingSchema).min(1).optional() })
    .optional(),
  coldEnergyKJ: z.number().min(0).max(200).optional(),
  keepsToSheet: z.boolean().optional(),
  /** What a check case holds its answer to be; not read here. */
  expected: z.unknown().optional(),
});

export type Case = z.infer<typeof caseSchema>;

/** A case is read anywhere, by programs too. */
const english = wordsOf({ language: "en", timeZone: "UTC", units: { temperature: "C", clock: "24h" } });

const minutesOrNull = z.number().nullable();
const caseStageSchema = z.strictObject({
  stage: stageNameSchema,
  reached: z.boolean(),
  likelyAt: instant.nullable(),
  likelyMinutes: minutesOrNull,
  safeAt: instant.nullable(),
  safeMinutes: minutesOrNull,
});
export type CaseStage = z.infer<typeof caseStageSchema>;

export const caseResultSchema = z.strictObject({
  asOf: instant,
  curePercent: z.number().nullable(),
  equivalentMinutes: minutesOrNull,
  stages: z.array(caseStageSchema),
  notes: z.array(
    z.strictObject({ code: z.enum(noteCodes), text: z.string(), from: instant.optional(), to: instant.optional() }),
  ),
});
export type CaseResult = z.infer<typeof caseResultSchema>;

/** A case that fits, with its readings taken in. */
export interface ReadCase {
  sheet: Sheet;
  climb: CoatClimb;
  asOfMs: number;
  ahead: Ahead | undefined;
}

/** The model's answer to a case, or all that does not fit in it. */
export function runCase(input: unknown): { result: CaseResult } | { faults: FaultLine[] } {
  const read = readCase(input);
  return "faults" in read ? read : { result: caseResult(read.climb.outcome(read.asOfMs, read.ahead)) };
}

/** Takes a case in, or says all that does not fit in it. */
export function readCase(input: unknown): ReadCase | { faults: FaultLine[] } {
  const parsed = caseSchema.safeParse(input);
  const sheet = readSheet((input as { sheet?: unknown } | null)?.sheet);
  const faults = [
    ...(parsed.success ? disorder(parsed.data) : faultLines(parsed.error, input)),
    ...("faults" in sheet ? sheet.faults.map((fault) => ({ ...fault, path: joined("sheet", fault.path) })) : []),
  ];
  if (!parsed.success || "faults" in sheet || faults.length > 0) return { faults };

  const { coat, readings, asOf, ahead, temperatureUncertaintyC, sheetSigma, rateFactor } = parsed.data;
  const { safeRateFactor, coldEnergyKJ, keepsToSheet } = parsed.data;
  const climb = new CoatClimb({
    ladder: sheet.ladder,
    finishedAtMs: Date.parse(coat.finishedAt),
    substrate: coat.substrate,
    ...given({ filmUm: coat.filmUm, panelLagSeconds: coat.panelLagSeconds, panelAtFinishC: coat.panelAtFinishC }),
    ...given({ temperatureUncertaintyC, sheetSigma, rateFactor, safeRateFactor, coldEnergyKJ, keepsToSheet }),
  });
  for (const reading of readings) climb.append(climateOf(reading));
  return {
    sheet: sheet.sheet,
    climb,
    asOfMs: asOf === undefined ? (climb.lastReadingAtMs as number) : Date.parse(asOf),
    ahead: ahead && { likely: ahead.likely.map(climateOf), ...(ahead.cold && { cold: ahead.cold.map(climateOf) }) },
  };
}

/** An outcome as a case's result has it. */
export function caseResult(outcome: Outcome): CaseResult {
  return {
    asOf: isoOf(outcome.asOfMs),
    curePercent: rounded(outcome.curePercent, 6),
    equivalentMinutes: rounded(outcome.equivalentMinutes, 6),
    stages: outcome.stages.map(caseStage),
    notes: outcome.notes.map(({ code, text, fromMs, toMs }) => ({
      code,
      text: english.say(text),
      ...given({
        from: fromMs === undefined ? undefined : isoOf(fromMs),
        to: toMs === undefined ? undefined : isoOf(toMs),
      }),
    })),
  };
}

/** A reading as a case holds it. */
export function caseReading({ atMs, ...reading }: ClimateReading): CaseReading {
  return { at: isoOf(atMs), ...reading };
}

function caseStage(stage: StageOutcome): CaseStage {
  return {
    stage: stage.stage,
    reached: stage.reached,
    likelyAt: stage.likelyAtMs === null ? null : isoOf(stage.likelyAtMs),
    likelyMinutes: rounded(stage.likelyMinutes, 5),
    safeAt: stage.safeAtMs === null ? null : isoOf(stage.safeAtMs),
    safeMinutes: rounded(stage.safeMinutes, 5),
  };
}

function climateOf({ at, airC, rhPercent, panelC, airSpeedMps, movedIn }: CaseReading): ClimateReading {
  const extras = given({ panelC: panelC ?? undefined, airSpeedMps: airSpeedMps ?? undefined, movedIn });
  return { atMs: Date.parse(at), airC, rhPercent, ...extras };
}

/** Readings that come before the one they follow; what lies ahead follows the last reading. */
function disorder({ readings, ahead, asOf }: Case): FaultLine[] {
  const last = readings.at(-1);
  const isNever = last === undefined && asOf === undefined;
  return [
    ...(isNever ? [{ path: "readings", expected: "one reading or more, or asOf", found: "none of either" }] : []),
    ...outOfOrder("readings", readings, undefined),
    ...outOfOrder("ahead.likely", ahead?.likely ?? [], last),
    ...outOfOrder("ahead.cold", ahead?.cold ?? [], last),
  ];
}

function outOfOrder(path: string, readings: readonly CaseReading[], first: CaseReading | undefined): FaultLine[] {
  return readings.flatMap(({ at }, index) => {
    const before = (readings[index - 1] ?? first)?.at;
    if (before === undefined || Date.parse(at) >= Date.parse(before)) return [];
    return [{ path: `${path}.${index}.at`, expected: `an instant not before ${before}`, found: at }];
  });
}

function joined(path: string, rest: string): string {
  return rest === "" ? path : `${path}.${rest}`;
}

/** The entries that have a value. */
function given<T extends object>(entries: T): { [K in keyof T]?: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(entries).filter(([, value]) => value !== undefined)) as {
    [K in keyof T]?: Exclude<T[K], undefined>;
  };
}

function isoOf(ms: number): string {
  return new Date(ms).toISOString();
}

function rounded(value: number | null, decimals: number): number | null {
  return value === null ? null : Number(value.toFixed(decimals));
}
