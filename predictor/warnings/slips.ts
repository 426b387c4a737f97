/** Whether a coat's next step moved later than people were told: a time that one has planned by. */
import type { StageOutcome } from "../cure/climb.ts";
import type { StageName } from "../cure/sheet.ts";
import { steadiness } from "./steadiness.ts";

export interface Slip {
  stage: StageName;
  /** When it was to be likely as first told, and as it is now. */
  toldAtMs: number;
  likelyAtMs: number;
}

/** What a hand waits for; the rest is only watched. */
const steps: readonly StageName[] = ["overcoat", "sand", "demask", "assemble", "polish"];
/** A time counts as told when it has stood this long: the first readings move it about. */
const toldAfterMs = 2 * 60_000;
/** Slipped by this share of the time it was to take from the finish, and by no less than this (both assumed). */
const share = 0.15;
const leastMs = 5 * 60_000;

interface Told {
  stage: StageName;
  /** Of the first likely time. */
  heardAtMs: number;
  toldAtMs: number;
  isSlipped: boolean;
}

/** Remembers what was told of each coat since the start. */
export class Slips {
  readonly #told = new Map<string, Told>();

  /** Takes a coat's stages as they are now, and says whether its next step has slipped. */
  of(coatId: string, finishedAtMs: number, stages: readonly StageOutcome[], nowMs: number): Slip | null {
    const next = stages.find(
      ({ stage, likelyAtMs }) => steps.includes(stage) && !(likelyAtMs !== null && likelyAtMs <= nowMs),
    );
    if (next === undefined || next.likelyAtMs === null) return null;
    const { stage, likelyAtMs } = next;
    const told = this.#told.get(coatId);
    if (told === undefined || told.stage !== stage || nowMs - told.heardAtMs < toldAfterMs) {
      const heardAtMs = told?.stage === stage ? told.heardAtMs : nowMs;
      this.#told.set(coatId, { stage, heardAtMs, toldAtMs: likelyAtMs, isSlipped: false });
      return null;
    }
    const limitMs = Math.max(leastMs, share * (told.toldAtMs - finishedAtMs));
    told.isSlipped = likelyAtMs - told.toldAtMs >= (told.isSlipped ? steadiness.slipped.bandShare : 1) * limitMs;
    return told.isSlipped ? { stage, toldAtMs: told.toldAtMs, likelyAtMs } : null;
  }

  /** The new time is known to someone now: what comes is measured by it. */
  known(coatId: string): void {
    this.#told.delete(coatId);
  }

  /** Forgets all coats but these. */
  keepOnly(coatIds: ReadonlySet<string>): void {
    for (const id of this.#told.keys()) if (!coatIds.has(id)) this.#told.delete(id);
  }
}
