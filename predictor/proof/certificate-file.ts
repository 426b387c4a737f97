/** The file of a certificate: all that a coat's figures rest on, so that they can be reckoned again. docs/certificates.md describes it. */
import { z } from "zod";
import { quantityNames } from "../../collector/readings.ts";
import { languages, type Words, wordsOf } from "../../words/words.ts";
import { caseResultSchema, caseSchema } from "../cure/case.ts";
import { noteCodes } from "../cure/climb.ts";
import { sheetSchema, stageNameSchema } from "../cure/sheet.ts";
import { type FaultLine, faultLines } from "../faults.ts";
import { checkHows } from "../records/entry-kinds.ts";
import { byRoles, canonical, hashOf } from "../records/log.ts";
import { deviationCodes } from "./coat-figures.ts";

export const coatFormat = "coatclock coat certificate";
export const carFormat = "coatclock car certificate";

const instant = z.iso.datetime();
const id = z.string().min(1).max(64);
const hash = z.string().regex(/^[0-9a-f]{64}$/);
const role = z.enum(byRoles);
const count = z.number().int().positive();

const shopSchema = z.strictObject({
  id,
  name: z.string(),
  invented: z.boolean(),
  /** Where its pages are found. */
  address: z.string(),
  language: z.enum(languages),
  timeZone: z.string(),
  units: z.strictObject({ temperature: z.enum(["C", "F"]), clock: z.enum(["24h", "12h"]) }),
});

const carSchema = z.strictObject({ id, job: z.string(), name: z.string() });

const limitSchema = z.strictObject({
  what: z.enum(["air temperature", "panel temperature", "humidity", "dew-point margin"]),
  value: z.number().nullable(),
  min: z.number().nullable(),
  max: z.number().nullable(),
  margin: z.number().nullable(),
  state: z.enum(["inside", "close", "outside", "not measured"]),
  source: z.enum(["sheet", "common practice"]),
  sensor: z.string().nullable(),
  readingAt: instant.nullable(),
});

/** Who took something back, when and why. */
const withdrawalSchema = z.strictObject({ reason: z.string(), who: z.string(), at: instant }).nullable();

const coatSchema = z.strictObject({
  id,
  panels: z.array(z.string()),
  batches: z.array(z.strictObject({ component: z.string(), batch: z.string() })),
  who: z.string(),
  enteredAt: instant,
  sprayCheck: z
    .strictObject({
      at: instant,
      place: z.string(),
      state: z.enum(["spray", "spray with care", "do not spray", "no verdict"]),
      limits: z.array(limitSchema),
    })
    .nullable(),
  withdrawn: withdrawalSchema,
});

const spreadSchema = z
  .strictObject({ min: z.number(), mean: z.number(), max: z.number(), minutesOutside: z.number().nullable() })
  .nullable();

const figuresSchema = z.strictObject({
  releaseStage: stageNameSchema,
  until: instant,
  isOver: z.boolean(),
  airC: spreadSchema,
  panelC: spreadSchema,
  rhPercent: spreadSchema,
  dewMarginC: spreadSchema,
  gapMinutes: z.number(),
  stages: z.array(
    z.strictObject({
      stage: stageNameSchema,
      likelyAt: instant.nullable(),
      safeAt: instant.nullable(),
      readyCheckedAt: instant.nullable(),
      notYetCheckedAt: instant.nullable(),
    }),
  ),
  coveredAt: instant.nullable(),
  waitedMinutes: z.number().nullable(),
});

const windowSchema = z.strictObject({
  for: z.string(),
  opensAt: instant.nullable(),
  closesAt: instant.nullable(),
  ifMissed: z.string(),
});

const checkSchema = z.strictObject({
  stage: stageNameSchema,
  at: instant,
  ready: z.boolean(),
  how: z.enum(checkHows),
  who: z.string(),
  note: z.string().nullable(),
  withdrawn: withdrawalSchema,
});

const value = z.union([z.string(), z.number()]);
const correctionSchema = z.strictObject({
  at: instant,
  who: z.string(),
  reason: z.string(),
  field: z.enum(["finishedAt", "filmUm", "sheet"]),
  was: value.nullable(),
  became: value,
});

/** An entry as the log has it: without `hash`, its canonical JSON has that hash. */
const entrySchema = z.looseObject({ seq: count, at: instant, who: z.string(), kind: z.string(), previous: hash, hash });
export type FileEntry = z.infer<typeof entrySchema>;

const coatCertificateSchema = z.strictObject({
  format: z.literal(coatFormat),
  version: z.literal(1),
  issuedAt: instant,
  /** Of the program that made it. */
  program: z.string(),
  shop: shopSchema,
  car: carSchema,
  coat: coatSchema,
  /** The sheet whole, the readings, the setup: what `npm run -s predict` reckons from. */
  case: caseSchema.extend({ sheet: sheetSchema, asOf: instant }),
  /** What came of it, as the program that issued it had it. */
  outcome: caseResultSchema,
  /** Its notes, gaps among them, in the shop's language. */
  notes: z.array(
    z.strictObject({ code: z.enum(noteCodes), text: z.string(), from: instant.nullable(), to: instant.nullable() }),
  ),
  windows: z.array(windowSchema),
  figures: figuresSchema,
  deviations: z.array(
    z.strictObject({
      code: z.enum(deviationCodes),
      text: z.string(),
      answers: z.array(z.strictObject({ answer: z.string(), who: z.string(), at: instant })),
    }),
  ),
  checks: z.array(checkSchema),
  moves: z.array(z.strictObject({ at: instant, place: z.string().nullable(), who: z.string() })),
  /** Those of the moves: what they are called, and which sensors told of them. */
  places: z.record(
    z.string(),
    z.strictObject({
      name: z.string(),
      sensors: z.partialRecord(z.enum(quantityNames as [(typeof quantityNames)[number]]), z.string()),
      airSpeedMps: z.number().optional(),
    }),
  ),
  corrections: z.array(correctionSchema),
  signOffs: z.array(z.strictObject({ meaning: z.string(), who: z.string(), role, at: instant })),
  /** What holds now; null while it is neither released nor held. */
  verdict: z
    .strictObject({ state: z.enum(["released", "held"]), words: z.string(), who: z.string(), role, at: instant })
    .nullable(),
  entries: z.array(entrySchema),
  /** The last entry of the log before this certificate was. */
  head: z.strictObject({ seq: count, hash, at: instant }),
});
export type CoatCertificate = z.infer<typeof coatCertificateSchema>;

const carCertificateSchema = z.strictObject({
  format: z.literal(carFormat),
  version: z.literal(1),
  issuedAt: instant,
  shop: shopSchema,
  car: carSchema,
  coats: z.array(coatCertificateSchema).min(1),
});
export type CarCertificate = z.infer<typeof carCertificateSchema>;
export type CertificateFile = CoatCertificate | CarCertificate;

/** One content has one text: RFC 8785 canonical JSON. */
export function certificateBytes(file: CertificateFile): Buffer {
  return Buffer.from(canonical(file));
}

export function digestOf(bytes: Uint8Array): string {
  return hashOf(bytes);
}

/** Whether JSON says of itself that it is a certificate; whether it fits is not looked at. */
export function isCertificate(input: unknown): boolean {
  const format = (input as { format?: unknown } | null)?.format;
  return format === coatFormat || format === carFormat;
}

/** Takes JSON for a certificate, or says all that does not fit. */
export function readCertificateFile(input: unknown): { file: CertificateFile } | { faults: FaultLine[] } {
  const isOfCar = (input as { format?: unknown } | null)?.format === carFormat;
  const parsed = (isOfCar ? carCertificateSchema : coatCertificateSchema).safeParse(input);
  return parsed.success ? { file: parsed.data } : { faults: faultLines(parsed.error, input) };
}

export function coatsOf(file: CertificateFile): CoatCertificate[] {
  return file.format === carFormat ? file.coats : [file];
}

/** The words of the shop that issued it. */
export function wordsOfFile({ shop }: CertificateFile): Words {
  return wordsOf(shop);
}
