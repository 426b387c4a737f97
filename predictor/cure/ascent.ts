/** What climbs a sheet's stages under given conditions: fed stretch by stretch, and asked about what would come. */
import type { Conditions, Stretch } from "./stretch.ts";

/**
 * The climb of one coat. `stepTo` once at the finish, then `along` stretch after stretch. What `Ahead` tells may be asked
 * inside `project` only. Stages are numbered from 0; instants are minutes since the finish, Infinity where never.
 */
export interface Ascent {
  /** Takes over other conditions at once, without time passing; they must stay as they are until the next stretch. */
  stepTo(at: Conditions): void;
  /** Climbs along a stretch that begins where the last one ended; its end must stay as it is until the next. */
  along(stretch: Stretch): void;
  /**
   * Lets `ahead` climb on under conditions to come (by `stepTo` and `along`), then holds the last ones for ever, reads
   * the answer off, and puts everything back as it was.
   */
  project<T>(ahead: () => void, answer: () => T): T;
  /** When the likely run, at the coat's own factor on all rates, ends stage k. */
  likelyMinutes(k: number): number;
  /** The same run with every panel temperature lowered by the sensor's uncertainty. */
  loweredMinutes(k: number): number;
  /** When a run at `factor` times the sheet's rates ends stage k. */
  minutesAtFactor(k: number, factor: number): number;
  /** How far the likely run is at an instant. */
  progressAt(minutes: number): { curePercent: number; equivalentMinutes: number };
  /** Panel temperature at an instant; held beyond both ends. */
  panelAt(minutes: number): number;
  /** Lowest and highest panel temperature from the finish up to an instant. */
  panelRange(untilMinutes: number): { coldestC: number; warmestC: number };
  /** When a process with a rate (amount per minute) that follows the panel alone, begun at the finish, comes to `amount`. */
  minutesUntil(amount: number, rateAt: (panelC: number) => number): number;
  /** Percentage at which the coat stands still under the last conditions; null where it does not. */
  stallsAtPercent(): number | null;
  /** Bytes that the history takes. */
  readonly bytes: number;
}
