/** When stages were really reached, as far as checks tell: between a 'not yet' and a 'ready', never at an instant. */
import type { StageName } from "../cure/sheet.ts";
import type { PlacedCheck, Told } from "../records/records.ts";

/** `between`: bounded on both sides; the others on one side only. */
export const bracketKinds = ["between", "ready-only", "not-yet-only"] as const;
export type BracketKind = (typeof bracketKinds)[number];

/** What the checks of one stage of one coat say: it was reached after the one and by the other. */
export interface Bracket {
  coatId: string;
  sheetId: string;
  sheetRevision: number;
  /** Where the coat stood at the last check of the bracket; null where it was in the shop no more. */
  place: string | null;
  stage: StageName;
  kind: BracketKind;
  /** The last 'not yet' before the first 'ready'. */
  notYetAtMs: number | null;
  readyAtMs: number | null;
  /** What was told just before the first of the two; null where it was not kept, or the coat was corrected since. */
  told: Told | null;
  /** ln(actual ÷ told likely), both counted from the finish, lies above `lnLow` and at or below `lnHigh`; −∞ and ∞ for no bound. Null where nothing was told. */
  lnLow: number | null;
  lnHigh: number | null;
}

/** A bracket of which the deviation can be told. */
export type ToldBracket = Bracket & { lnLow: number; lnHigh: number };

export const isTold = (bracket: Bracket): bracket is ToldBracket => bracket.lnLow !== null && bracket.lnHigh !== null;

/**
 * A bracket for each stage of each coat that was checked, in order of their last checks. Left out are a 'not yet' after the first 'ready', which says
 * nothing of when it was reached, and a check at the finish, which no time can be divided by. `checks` in order of time.
 */
export function bracketsOf(checks: Iterable<PlacedCheck>): Bracket[] {
  const looks = new Map<string, { notYet: PlacedCheck | null; ready: PlacedCheck | null }>();
  for (const check of checks) {
    if (!(check.atMs > check.finishedAtMs)) continue;
    const key = `${check.coatId}/${check.stage}`;
    const look = looks.get(key) ?? { notYet: null, ready: null };
    looks.set(key, look);
    if (look.ready !== null) continue;
    if (check.ready) look.ready = check;
    else look.notYet = check;
  }
  return [...looks.values()]
    .flatMap(({ notYet, ready }) => bracketOf(notYet, ready) ?? [])
    .sort((a, b) => lastAtMs(a) - lastAtMs(b));
}

function bracketOf(notYet: PlacedCheck | null, ready: PlacedCheck | null): Bracket | null {
  const last = ready ?? notYet;
  if (last === null) return null;
  const teller = [notYet, ready].find((check) => check !== null && toldLikelyMs(check) !== null);
  const likelyMs = teller ? toldLikelyMs(teller) : null;
  const ln = (check: PlacedCheck | null, otherwise: number) => {
    if (likelyMs === null) return null;
    return check === null ? otherwise : Math.log((check.atMs - check.finishedAtMs) / likelyMs);
  };
  return {
    coatId: last.coatId,
    sheetId: last.sheetId,
    sheetRevision: last.sheetRevision,
    place: last.place,
    stage: last.stage,
    kind: ready === null ? "not-yet-only" : notYet === null ? "ready-only" : "between",
    notYetAtMs: notYet?.atMs ?? null,
    readyAtMs: ready?.atMs ?? null,
    told: teller?.told ?? null,
    lnLow: ln(notYet, Number.NEGATIVE_INFINITY),
    lnHigh: ln(ready, Number.POSITIVE_INFINITY),
  };
}

/** The likely time that was told, from the finish; null where none was, or it was told of what the coat is no more. */
export function toldLikelyMs({ told, finishedAtMs, isCorrectedSince }: PlacedCheck): number | null {
  const ms = (told?.likelyAtMs ?? Number.NaN) - finishedAtMs;
  return ms > 0 && !isCorrectedSince ? ms : null;
}

export const lastAtMs = ({ readyAtMs, notYetAtMs }: Bracket): number => readyAtMs ?? notYetAtMs ?? Number.NaN;

/** The middle of a deviation that is bounded on both sides; null for any other. */
export function middleOf({ lnLow, lnHigh }: Bracket): number | null {
  const middle = ((lnLow ?? Number.NaN) + (lnHigh ?? Number.NaN)) / 2;
  return Number.isFinite(middle) ? middle : null;
}
