/** One coat's climb through the stages of its sheet, fed with readings as they come. docs/model.md describes the model. */
import type { Ahead, ClimateReading, CoatSetup, Outcome } from "./climb.ts";
import { estimatedNote, staleNote } from "./notes.ts";
import { notesOn, progressAndStages, withoutPrediction } from "./outcome.ts";
import { isTemperature, longestBridgeMinutes, PanelHistory } from "./panel-history.ts";
import type { StageName } from "./sheet.ts";

/** A check that would want rates this many times faster or slower than the sheet's tells no more than one at the limit. */
const furthestLnFactor = 4;
const msPerMinute = 60_000;

/**
 * Feed it with `append` in order of time, ask `outcome` at any moment; asking changes nothing. The cost of a reading
 * does not grow with the coat's age. Without a reading at the finish or within 10 minutes after it there is no
 * prediction: the outcome says so.
 */
export class CoatClimb {
  private readonly setup: CoatSetup;
  private readonly history: PanelHistory;

  /** Throws a RangeError for a film build, factor or uncertainty that cannot be. */
  constructor(setup: CoatSetup) {
    this.setup = setup;
    const { temperatureUncertaintyC: uncertaintyC = 0, rateFactor = 1, safeRateFactor = 1 } = setup;
    requireThat(Number.isFinite(setup.finishedAtMs), "finishedAtMs", setup.finishedAtMs);
    requireThat(uncertaintyC >= 0 && uncertaintyC <= 20, "temperatureUncertaintyC", uncertaintyC);
    requireThat(rateFactor > 0 && rateFactor < 1000, "rateFactor", rateFactor);
    requireThat(safeRateFactor > 0 && safeRateFactor < 1000, "safeRateFactor", safeRateFactor);
    requireThat((setup.sheetSigma ?? 0) >= 0 && (setup.sheetSigma ?? 0) < 10, "sheetSigma", setup.sheetSigma);
    requireThat(
      setup.panelLagSeconds === undefined || setup.panelLagSeconds > 0,
      "panelLagSeconds",
      setup.panelLagSeconds,
    );
    requireThat(isTemperature(setup.panelAtFinishC ?? 20), "panelAtFinishC", setup.panelAtFinishC);
    this.history = new PanelHistory(setup);
  }

  /** Instant of the last reading taken in; null before the first. */
  get lastReadingAtMs(): number | null {
    const { lastAtMs } = this.history;
    return Number.isFinite(lastAtMs) ? lastAtMs : null;
  }

  /** Bytes that the history takes. */
  get historyBytes(): number {
    return this.history.ascent.bytes;
  }

  /** Takes in the next reading; throws a RangeError for one older than the last or with values that cannot be. */
  append(reading: ClimateReading): void {
    this.history.append(reading);
  }

  /**
   * What is to be said as of an instant, readings after it included. From the last reading on things go as `ahead` says,
   * and then, or without it, stay as they are.
   */
  outcome(asOfMs: number, ahead: Ahead = { likely: [] }): Outcome {
    if (!Number.isFinite(asOfMs)) throw new RangeError(`asOfMs must be an instant, found ${asOfMs}`);
    const { setup, history } = this;
    if (history.isWithoutPrediction) return withoutPrediction(setup, asOfMs);
    const { stages } = setup.ladder;
    const alongColdEdge =
      ahead.cold && history.lookAhead(ahead.cold, ({ ascent }) => stages.map((_, k) => ascent.likelyMinutes(k)));
    const { lastAtMs, coldestC, warmestC, endsMeasured } = history;
    const notes = [...history.notes];
    if (asOfMs - lastAtMs > longestBridgeMinutes * msPerMinute) notes.push(staleNote(lastAtMs, asOfMs));
    if (history.estimated || !endsMeasured) notes.push(estimatedNote());
    return history.lookAhead(ahead.likely, (toCome) => {
      const { ascent } = toCome;
      const progress = progressAndStages(setup, ascent, asOfMs, alongColdEdge);
      const seen = coldestC <= warmestC ? { coldestC, warmestC } : toCome;
      notes.push(...notesOn(setup.ladder, progress.stages, seen, ascent.stallsAtPercent()));
      const panelC = ascent.panelAt((asOfMs - setup.finishedAtMs) / msPerMinute);
      return { asOfMs, ...progress, panelC, panelEstimated: !endsMeasured, notes };
    });
  }

  /** Panel temperature and progress at each of some instants, things staying as they are after the last reading; null before the finish and without a prediction. */
  course(instantsMs: readonly number[]): ({ panelC: number; curePercent: number } | null)[] {
    const { setup, history } = this;
    if (history.isWithoutPrediction) return instantsMs.map(() => null);
    return history.lookAhead([], ({ ascent }) =>
      instantsMs.map((atMs) => {
        const minutes = (atMs - setup.finishedAtMs) / msPerMinute;
        return minutes >= 0
          ? { panelC: ascent.panelAt(minutes), curePercent: ascent.progressAt(minutes).curePercent }
          : null;
      }),
    );
  }

  /**
   * ln of the one factor on the sheet's rates that would have put a stage exactly at an instant, kept within ±4; null
   * where there is no prediction, the stage is not the sheet's or the instant is not after the finish.
   */
  lnFactorReaching(stage: StageName, atMs: number): number | null {
    const k = this.setup.ladder.stages.findIndex((each) => each.stage === stage);
    const minutes = (atMs - this.setup.finishedAtMs) / msPerMinute;
    if (this.history.isWithoutPrediction || k < 0 || !(minutes > 0)) return null;
    return this.history.lookAhead([], ({ ascent }) => {
      let slow = -furthestLnFactor;
      let fast = furthestLnFactor;
      while (fast - slow > 1e-9) {
        const middle = (slow + fast) / 2;
        if (ascent.minutesAtFactor(k, Math.exp(middle)) > minutes) slow = middle;
        else fast = middle;
      }
      return fast;
    });
  }
}

function requireThat(holds: boolean, what: string, found: unknown): void {
  if (!holds) throw new RangeError(`expected a possible ${what} found ${String(found)}`);
}
