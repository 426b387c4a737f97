/** How well the shop's predictions hold: put together from its records and readings, for a span, a sheet and a place. */
import { Learner } from "../cure/learning.ts";
import type { Sheet } from "../cure/sheet.ts";
import { ninetiethPercentile } from "../cure/uncertainty.ts";
import type { Follow } from "../follow/follow.ts";
import type { CheckedFinding } from "../follow/lessons.ts";
import { type ClimatePlace, seriesOf, staysFrom } from "../follow/place-history.ts";
import { airHandlingOf, type EnergySettings } from "../plan/energy.ts";
import type { ReadingSource } from "../readings/store.ts";
import type { Coat, Records } from "../records/records.ts";
import type { PlaceSettings, ShopFile } from "../shop-file.ts";
import { type BakeSaved, bakeSaved, type Drying, type DryingStay, dryingsOf } from "./bake-saved.ts";
import { type Bracket, type BracketKind, bracketKinds, bracketsOf, isTold, lastAtMs, middleOf } from "./brackets.ts";
import { type Calibration, calibrationOf } from "./calibration.ts";
import { fitNormal, type NormalFit } from "./censored-normal.ts";
import { type ControlLimits, type ControlPoint, controlChart } from "./control-chart.ts";
import { type FiguredCoat, type SpanFigures, type SpanRow, spanFigures } from "./span-figures.ts";

type PredictedPlaces = Readonly<Record<string, ClimatePlace & Pick<PlaceSettings, "kind">>>;

export interface PredictionParts {
  store: ReadingSource;
  records: Records;
  /** What the checks of a sheet's revision teach. */
  follow: Pick<Follow, "lesson">;
  shopFile: { places: PredictedPlaces } & Pick<ShopFile, "outdoorPlace" | "energy">;
  /** The figures of coats, in any order. */
  figured: (coats: readonly Coat[]) => Promise<readonly FiguredCoat[]>;
}

export interface PredictionQuestion {
  /** Coats finished at this instant or later, and before the other. */
  fromMs: number;
  toMs: number;
  sheetId?: string | undefined;
  /** Of a check, where the coat stood then; of a coat, where it was finished. */
  place?: string | undefined;
}

/** How told and found agree, of one sheet's revision in one place, or in all places. */
export interface Agreement {
  place: string | null;
  counts: Record<BracketKind, number>;
  /** Brackets of which nothing was told, or which no longer holds. */
  untold: number;
  /** Of ln(actual ÷ told likely); null where too few are bounded on both sides to say. */
  fit: NormalFit | null;
}

/** The shop's factor after so many checks, as times: 1.09 is 9 % longer than on the sheet. In eight of ten cases within its band. */
export interface LearnedPoint {
  atMs: number;
  checks: number;
  timeFactor: number;
  low: number;
  high: number;
}

export interface ControlledPoint extends ControlPoint {
  coatId: string;
  atMs: number;
}

export interface SheetPredictions {
  sheet: Sheet;
  /** The checks do not move its times. */
  isLearningOff: boolean;
  brackets: Bracket[];
  /** All places together first, then each. */
  agreements: Agreement[];
  learned: LearnedPoint[];
  control: { points: ControlledPoint[]; limits: ControlLimits | null };
}

export interface Predictions {
  /** Those that were checked, the most checks first. */
  sheets: SheetPredictions[];
  calibration: Calibration;
  span: { all: SpanFigures; rows: SpanRow[] };
  /** Null where the shop file says nothing of energy, or no place tells the temperature outdoors. */
  energy: BakeSaved | null;
}

/** With fewer brackets that are bounded on both sides no median is told; assumed. */
export const fewestBrackets = 5;
const msPerMinute = 60_000;

export async function predictionsOf(parts: PredictionParts, question: PredictionQuestion): Promise<Predictions> {
  const { records, figured } = parts;
  const { fromMs, toMs, sheetId, place } = question;
  const isAsked = (each: { sheetId: string }) => sheetId === undefined || each.sheetId === sheetId;
  const isHere = (each: { place: string | null }) => place === undefined || each.place === place;
  const checks = records.checksOfCoatsFinished(fromMs, toMs).filter(isAsked);
  const coats = records.coatsFinished(fromMs, toMs).filter(isAsked);
  const brackets = bracketsOf(checks).filter(isHere);
  const ofSpan = (await figured(coats)).filter(isHere);
  return {
    sheets: await sheetsOf(parts, brackets),
    calibration: calibrationOf(checks.filter(isHere)),
    span: spanFigures(ofSpan),
    energy: await energyOfSpan(parts, ofSpan, new Map(coats.map(({ id, carId }) => [id, carId]))),
  };
}

async function sheetsOf({ records, follow }: PredictionParts, brackets: Bracket[]): Promise<SheetPredictions[]> {
  const groups = new Map<string, Bracket[]>();
  for (const bracket of brackets) {
    const key = `${bracket.sheetId}/${bracket.sheetRevision}`;
    groups.set(key, [...(groups.get(key) ?? []), bracket]);
  }
  const sheets: SheetPredictions[] = [];
  for (const group of [...groups.values()].sort((a, b) => b.length - a.length)) {
    const { sheetId, sheetRevision } = group[0] as Bracket;
    const sheet = records.sheet(sheetId, sheetRevision);
    const { isOff, findings } = await follow.lesson(sheet);
    sheets.push({
      sheet,
      isLearningOff: isOff,
      brackets: group,
      agreements: agreementsOf(group),
      learned: learnedOf(findings),
      control: controlOf(group),
    });
  }
  return sheets;
}

/** Of all places together, and of each where there is more than one. */
export function agreementsOf(brackets: readonly Bracket[]): Agreement[] {
  const places = [...new Set(brackets.map(({ place }) => place))];
  const each =
    places.length < 2
      ? []
      : places.map((place) =>
          agreementOf(
            place,
            brackets.filter((bracket) => bracket.place === place),
          ),
        );
  return [agreementOf(null, brackets), ...each];
}

function agreementOf(place: string | null, brackets: readonly Bracket[]): Agreement {
  const told = brackets.filter(isTold);
  const count = (kind: BracketKind) => told.filter((bracket) => bracket.kind === kind).length;
  const counts = Object.fromEntries(bracketKinds.map((kind) => [kind, count(kind)])) as Record<BracketKind, number>;
  const fit =
    counts.between < fewestBrackets ? null : fitNormal(told.map(({ lnLow, lnHigh }) => ({ low: lnLow, high: lnHigh })));
  return { place, counts, untold: brackets.length - told.length, fit };
}

/** What was known after each check that counts. */
export function learnedOf(findings: readonly CheckedFinding[]): LearnedPoint[] {
  const learner = new Learner();
  return findings.map((finding) => {
    learner.take(finding);
    const { lnFactor, sigma, checks } = learner.lesson();
    const timeFactor = (deviations: number) => Math.exp(-lnFactor + deviations * ninetiethPercentile * sigma);
    return { atMs: finding.atMs, checks, timeFactor: timeFactor(0), low: timeFactor(-1), high: timeFactor(1) };
  });
}

function controlOf(brackets: readonly Bracket[]): SheetPredictions["control"] {
  const middles = brackets.flatMap((bracket) => {
    const value = middleOf(bracket);
    return value === null ? [] : [{ value, coatId: bracket.coatId, atMs: lastAtMs(bracket) }];
  });
  const { points, limits } = controlChart(middles.map(({ value }) => value));
  return {
    limits,
    points: middles.map(({ coatId, atMs }, index) => ({ ...(points[index] as ControlPoint), coatId, atMs })),
  };
}

async function energyOfSpan(
  { store, records, shopFile }: PredictionParts,
  coats: readonly FiguredCoat[],
  carOf: ReadonlyMap<string, string>,
): Promise<BakeSaved | null> {
  const { energy, outdoorPlace, places } = shopFile;
  if (energy === undefined || outdoorPlace === undefined) return null;
  const { dryings, ...leftOut } = dryingsOf(
    coats.map(({ coatId, finishedAtMs, figures }) => ({
      carId: carOf.get(coatId) ?? coatId,
      fromMs: finishedAtMs,
      untilMs: figures.untilMs,
      warmestC: figures.airC?.max ?? null,
    })),
  );
  const withStays = [];
  for (const drying of dryings) {
    withStays.push({ drying, stays: await staysOf(drying, { store, records, places, outdoorPlace }) });
  }
  return bakeSaved(withStays, energy, handlingsOf(energy, places), leftOut);
}

function handlingsOf(energy: EnergySettings, places: PredictedPlaces) {
  return Object.fromEntries(
    Object.entries(places).map(([place, { kind }]) => [place, airHandlingOf(energy, place, kind)]),
  );
}

/** Where the car stood while it dried, with the mean of the air there and outdoors. */
async function staysOf(
  { carId, fromMs, untilMs }: Drying,
  parts: Pick<PredictionParts, "store" | "records"> & { places: PredictedPlaces; outdoorPlace: string },
): Promise<DryingStay[]> {
  const stays: DryingStay[] = [];
  for (const { place, fromMs: cameMs, toMs } of staysFrom(parts.records.car(carId).moves, fromMs)) {
    const span = { fromMs: cameMs, toMs: Math.min(toMs, untilMs) };
    if (!(span.toMs > span.fromMs)) continue;
    stays.push({
      place,
      minutes: (span.toMs - span.fromMs) / msPerMinute,
      insideC: await meanAirC(parts.store, parts.places[place], span),
      outdoorC: await meanAirC(parts.store, parts.places[parts.outdoorPlace], span),
    });
  }
  return stays;
}

async function meanAirC(
  store: ReadingSource,
  place: PredictedPlaces[string] | undefined,
  { fromMs, toMs }: { fromMs: number; toMs: number },
): Promise<number | null> {
  const series = place && seriesOf(place).find(({ quantity }) => quantity === "air-temperature");
  if (series === undefined) return null;
  const [bucket] = await store.thin(series, { fromMs, toMs, bucketMs: toMs - fromMs });
  return bucket?.mean ?? null;
}
