/** Whether 'safe' keeps its promise: of the coats that were tried, so many were ready as it was told. */
import { checkSigma } from "../cure/learning.ts";
import { normalShare } from "../cure/normal.ts";
import { ninetiethPercentile } from "../cure/uncertainty.ts";
import type { PlacedCheck } from "../records/records.ts";
import { toldLikelyMs } from "./brackets.ts";

/** With fewer checks no share is given; assumed. */
export const fewestChecks = 10;
/** Edges of the told probability: before likely, in tenths from likely to safe, and after safe. */
const bandEdges = [0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97, 1] as const;
const ninetyFiveOf100 = 1.959964;

export interface ShareFound {
  checks: number;
  ready: number;
  /** Found ready ÷ tried, with its 95 % interval; null where there are too few checks to say. */
  found: { share: number; low: number; high: number } | null;
  /** Mean of the probabilities that were told; null without checks. */
  told: number | null;
  /** Mean of what would be found were all told probabilities right, by someone who scatters as the model assumes. */
  expected: number | null;
}

export interface Band extends ShareFound {
  from: number;
  to: number;
}

export interface Calibration {
  /** Of the checks at or after the safe time that was told, the first of each coat's stage: a coat that is far off counts once. */
  atSafe: ShareFound;
  /** Those among them that were the first look of all: who looks a second time does so since it was not ready. */
  firstAtSafe: ShareFound;
  /** First looks by the probability that was told. */
  bands: Band[];
  /** Checks of which no probability can be told. */
  untold: number;
}

interface Look {
  ready: boolean;
  isFirst: boolean;
  isAtSafe: boolean;
  /** Of a coat's stage. */
  of: string;
  told: number;
  expected: number;
}

/** `checks` in order of time. */
export function calibrationOf(checks: Iterable<PlacedCheck>): Calibration {
  const seen = new Set<string>();
  const looks: Look[] = [];
  let untold = 0;
  for (const check of checks) {
    const key = `${check.coatId}/${check.stage}`;
    const look = lookOf(check, key, !seen.has(key));
    seen.add(key);
    if (look === null) untold++;
    else looks.push(look);
  }
  const firsts = looks.filter(({ isFirst }) => isFirst);
  return {
    atSafe: shareOf(firstOfEach(looks.filter(({ isAtSafe }) => isAtSafe))),
    firstAtSafe: shareOf(firsts.filter(({ isAtSafe }) => isAtSafe)),
    bands: bandEdges.slice(0, -1).map((from, index) => {
      const to = bandEdges[index + 1] as number;
      return { from, to, ...shareOf(firsts.filter(({ told }) => told >= from && (told < to || to === 1))) };
    }),
    untold,
  };
}

function firstOfEach(looks: readonly Look[]): Look[] {
  const seen = new Set<string>();
  return looks.filter(({ of }) => !seen.has(of) && seen.add(of));
}

/**
 * What was told of a check as a probability: ln(time) is normal, likely its median and safe its ninth decile. Null where nothing was told, and
 * for a check at its coat's finish.
 */
function lookOf(check: PlacedCheck, of: string, isFirst: boolean): Look | null {
  const likelyMs = toldLikelyMs(check);
  const safeAtMs = check.told?.safeAtMs ?? null;
  const tookMs = check.atMs - check.finishedAtMs;
  if (likelyMs === null || safeAtMs === null || !(tookMs > 0)) return null;
  const sigma = Math.log((safeAtMs - check.finishedAtMs) / likelyMs) / ninetiethPercentile;
  if (!(sigma > 0)) return null;
  const late = Math.log(tookMs / likelyMs);
  return {
    ready: check.ready,
    isFirst,
    isAtSafe: check.atMs >= safeAtMs,
    of,
    // Rounding must not put a check at its safe time into the band below.
    told:
      check.atMs >= safeAtMs
        ? Math.max(0.9, normalShare(late / sigma))
        : Math.min(0.9 - 1e-9, normalShare(late / sigma)),
    expected: normalShare(late / Math.hypot(sigma, checkSigma)),
  };
}

function shareOf(looks: readonly Look[]): ShareFound {
  const checks = looks.length;
  const ready = looks.filter((look) => look.ready).length;
  const mean = (figureOf: (look: Look) => number) =>
    checks === 0 ? null : looks.reduce((sum, look) => sum + figureOf(look), 0) / checks;
  return {
    checks,
    ready,
    found: checks < fewestChecks ? null : { share: ready / checks, ...wilsonInterval(ready, checks) },
    told: mean(({ told }) => told),
    expected: mean(({ expected }) => expected),
  };
}

/**
 * The 95 % score interval of a share, `hits` of `tries` (1 or more): E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209–212. It stays within 0…1 and
 * holds up with few tries, where mean ± error does not.
 */
export function wilsonInterval(hits: number, tries: number): { low: number; high: number } {
  const z2 = ninetyFiveOf100 ** 2;
  const share = hits / tries;
  const middle = (share + z2 / (2 * tries)) / (1 + z2 / tries);
  const reach =
    (ninetyFiveOf100 / (1 + z2 / tries)) * Math.sqrt((share * (1 - share)) / tries + z2 / (4 * tries * tries));
  return { low: Math.max(0, middle - reach), high: Math.min(1, middle + reach) };
}
