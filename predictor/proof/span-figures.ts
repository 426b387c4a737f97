/** What came of the coats of a span, by sheet and place: pure. */
import type { CoatFigures, DeviationCode } from "./coat-figures.ts";

/** A coat that counts, with its figures. */
export interface FiguredCoat {
  coatId: string;
  sheetId: string;
  sheetRevision: number;
  /** Where it was finished; null where the shop file names no such place any more. */
  place: string | null;
  finishedAtMs: number;
  figures: CoatFigures;
}

export interface WaitFigures {
  /** Of so many coats it is known how long they waited. */
  coats: number;
  medianMinutes: number;
  /** Null of fewer coats than a ninth decile wants. */
  ninthDecileMinutes: number | null;
  totalHours: number;
}

export interface SpanFigures {
  coats: number;
  /** Time that counts of the coats of which a quantity with limits is known, from the finish until it was over. */
  dryingHours: number;
  /** Of that, outside the limits of whichever quantity was outside longest, so at least so much. */
  outsideHours: number;
  /** Null without such a coat. */
  outsideShare: number | null;
  windowsMissed: number;
  coveredEarly: number;
  /** Null where it is known of no coat. */
  waiting: WaitFigures | null;
}

export interface SpanRow extends SpanFigures {
  sheetId: string;
  sheetRevision: number;
  place: string | null;
}

const msPerMinute = 60_000;
/** So many coats for a ninth decile; assumed. */
const fewestForDecile = 10;

/** Of all coats together, and of each sheet's revision in each place where coats were finished, the most coats first. */
export function spanFigures(coats: Iterable<FiguredCoat>): { all: SpanFigures; rows: SpanRow[] } {
  const all = [...coats];
  const groups = new Map<string, FiguredCoat[]>();
  for (const coat of all) {
    const key = JSON.stringify([coat.sheetId, coat.sheetRevision, coat.place]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [coat]);
    else group.push(coat);
  }
  const rows = [...groups.values()].map((group): SpanRow => {
    const { sheetId, sheetRevision, place } = group[0] as FiguredCoat;
    return { sheetId, sheetRevision, place, ...figuresOf(group) };
  });
  return { all: figuresOf(all), rows: rows.sort((a, b) => b.coats - a.coats) };
}

function figuresOf(coats: readonly FiguredCoat[]): SpanFigures {
  const judged = coats.flatMap((coat) => {
    const outside = minutesOutside(coat.figures);
    return outside === null ? [] : [{ outside, drying: dryingMinutes(coat) }];
  });
  const drying = judged.reduce((sum, each) => sum + each.drying, 0);
  const outside = judged.reduce((sum, each) => sum + each.outside, 0);
  const having = (code: DeviationCode) => coats.filter(({ figures }) => figures.deviations.includes(code)).length;
  return {
    coats: coats.length,
    dryingHours: drying / 60,
    outsideHours: outside / 60,
    outsideShare: drying > 0 ? outside / drying : null,
    windowsMissed: having("window-missed"),
    coveredEarly: having("covered-early"),
    waiting: waitingOf(coats.flatMap(({ figures }) => figures.waitedMinutes ?? [])),
  };
}

/** Quantities may be outside together or in turn: of which nothing is known but how long each was. */
function minutesOutside({ airC, panelC, rhPercent, dewMarginC }: CoatFigures): number | null {
  const known = [airC, panelC, rhPercent, dewMarginC].flatMap((spread) => spread?.minutesOutside ?? []);
  return known.length === 0 ? null : Math.max(...known);
}

const dryingMinutes = ({ finishedAtMs, figures }: FiguredCoat) =>
  Math.max(0, figures.untilMs - finishedAtMs) / msPerMinute;

function waitingOf(minutes: readonly number[]): WaitFigures | null {
  if (minutes.length === 0) return null;
  const sorted = minutes.toSorted((a, b) => a - b);
  return {
    coats: sorted.length,
    medianMinutes: quantile(sorted, 0.5),
    ninthDecileMinutes: sorted.length < fewestForDecile ? null : quantile(sorted, 0.9),
    totalHours: sorted.reduce((sum, each) => sum + each, 0) / 60,
  };
}

/**
 * Of values in order, at least one: the one below which this share of them lies, evenly between neighbours. Definition 7 of R. J. Hyndman and
 * Y. Fan, The American Statistician 50, 1996, 361–365.
 */
export function quantile(sorted: readonly number[], share: number): number {
  const place = (sorted.length - 1) * share;
  const [below, above] = [sorted[Math.floor(place)] as number, sorted[Math.ceil(place)] as number];
  return below + (above - below) * (place - Math.floor(place));
}
