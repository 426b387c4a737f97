/** What the shop's checks teach about each sheet: kept until a check, or the history of a checked coat, changes. */
import type { CoatSetup } from "../cure/climb.ts";
import { CoatClimb } from "../cure/coat-climb.ts";
import { type CheckFinding, type Lesson, learn } from "../cure/learning.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { ReadingSource } from "../readings/store.ts";
import type { Check, Coat, Records } from "../records/records.ts";
import { coatSetup } from "./coat-setup.ts";
import { type ClimatePlace, carHistory, type Stay, staysFrom } from "./place-history.ts";

/** Of a sheet's checks the newest so many count: a shop changes. Assumed. */
const checksCounted = 200;
/**
 * A check this far off is taken for a slip of the finger and not counted (assumed): found ready although that would want
 * rates e^0.5 times the sheet's, or not yet although that would want less than e^−0.9 of them. The former is the
 * stricter, since believing it would call coats ready too early.
 */
const slip = { readyAbove: 0.5, notYetBelow: -0.9 } as const;

export interface LessonParts {
  store: ReadingSource;
  records: Records;
  places: Readonly<Record<string, ClimatePlace>>;
  learning: { off: readonly string[]; earlierThanSheet: readonly string[] };
}

interface Learned {
  lesson: Lesson;
  /** What it was learned from, oldest first. */
  findings: readonly CheckedFinding[];
}

/** A lesson and what becomes of it. */
export interface SheetLesson extends Learned {
  /** Switched off in the shop file: it is shown, and moves nothing. */
  isOff: boolean;
}

/** A finding, and when it was made. */
export interface CheckedFinding extends CheckFinding {
  atMs: number;
}

/** What a check tells. */
interface Told {
  /** ln of the factor that would have put the stage at its instant; null where nothing can be said. */
  lnFactor: number | null;
  coat: Coat;
  /** The history that this rests on. */
  stays: readonly Stay[];
}

const keyOf = (sheet: { id: string; revision: number }): string => `${sheet.id}/${sheet.revision}`;

export class Lessons {
  readonly #parts: LessonParts;
  readonly #known = new Map<string, Learned>();
  /** How often something was forgotten. */
  #forgotten = 0;
  readonly #told = new Map<string, Told>();

  constructor(parts: LessonParts) {
    this.#parts = parts;
  }

  /** The lesson of a sheet's revision as far as it was learned; none yet is the sheet's own word. */
  of(sheet: Sheet): SheetLesson {
    const learned = this.#known.get(keyOf(sheet)) ?? { lesson: learn([]), findings: [] };
    return { ...learned, isOff: this.#parts.learning.off.includes(sheet.id) };
  }

  /** Learns what the checks say of a sheet's revision, where that is not known. */
  async learned(sheet: Sheet): Promise<SheetLesson> {
    const key = keyOf(sheet);
    // A check that comes while the others are learned from makes what was begun out of date.
    while (!this.#known.has(key)) {
      const begunAt = this.#forgotten;
      const learned = await this.#learn(sheet);
      if (begunAt === this.#forgotten) this.#known.set(key, learned);
    }
    return this.of(sheet);
  }

  async #learn(sheet: Sheet): Promise<Learned> {
    const findings = await this.#findings(sheet);
    return { lesson: learn(findings), findings };
  }

  async #findings(sheet: Sheet): Promise<CheckedFinding[]> {
    const findings: CheckedFinding[] = [];
    for (const check of this.#parts.records.checksOfSheet(sheet.id, sheet.revision).slice(-checksCounted)) {
      const lnFactor = await this.#lnFactorOf(check, sheet);
      if (lnFactor === null || isSlip(lnFactor, check.ready)) continue;
      findings.push({ lnFactor, ready: check.ready, atMs: check.atMs });
    }
    return findings;
  }

  /** What a climb by this sheet starts with. */
  setupOf(sheet: Sheet): Pick<CoatSetup, "rateFactor" | "safeRateFactor" | "sheetSigma" | "keepsToSheet"> {
    const { lesson, isOff } = this.of(sheet);
    if (isOff || lesson.checks === 0) return {};
    return {
      rateFactor: Math.exp(lesson.lnFactor),
      safeRateFactor: Math.exp(lesson.lnSafeFactor),
      sheetSigma: lesson.sigma,
      keepsToSheet: !this.#parts.learning.earlierThanSheet.includes(sheet.id),
    };
  }

  /** A check of a sheet's revision was entered or withdrawn. */
  forgetSheet(id: string, revision: number): void {
    this.#forgotten++;
    this.#known.delete(keyOf({ id, revision }));
  }

  /** The history of a coat has changed; true when it has checks, so that its sheet's lesson changes with it. */
  forgetCoat(coat: Coat): boolean {
    const checks = this.#parts.records.checksOf(coat.id);
    for (const check of checks) this.#told.delete(check.id);
    if (checks.length > 0) this.forgetSheet(coat.sheetId, coat.sheetRevision);
    return checks.length > 0;
  }

  /**
   * Readings of a place came late, the earliest of this instant: forgets what was learned of coats that stood there then or
   * later, be they covered or gone since, and gives those coats.
   */
  forgetFrom(place: string, atMs: number): Coat[] {
    this.#forgotten++;
    const touched = [...this.#told.values()]
      .filter(({ stays }) => stays.some((stay) => stay.place === place && atMs < stay.toMs))
      .map(({ coat }) => coat);
    for (const coat of touched) this.forgetCoat(coat);
    return touched;
  }

  async #lnFactorOf(check: Check, sheet: Sheet): Promise<number | null> {
    const known = this.#told.get(check.id);
    if (known !== undefined) return known.lnFactor;
    const begunAt = this.#forgotten;
    const { records, store, places } = this.#parts;
    const coat = records.coat(check.coatId);
    const stays = staysFrom(records.car(coat.carId).moves, coat.finishedAtMs)
      .filter((stay) => stay.fromMs <= check.atMs)
      .map((stay) => ({ ...stay, toMs: Math.min(stay.toMs, check.atMs + 1) }));
    const climb = new CoatClimb(coatSetup(coat, sheet));
    for (const reading of (await carHistory(store, places, stays)).readings) climb.append(reading);
    const lnFactor = climb.lnFactorReaching(check.stage, check.atMs);
    if (begunAt === this.#forgotten) this.#told.set(check.id, { lnFactor, coat, stays });
    return lnFactor;
  }
}

function isSlip(lnFactor: number, ready: boolean): boolean {
  return ready ? lnFactor > slip.readyAbove : lnFactor < slip.notYetBelow;
}
