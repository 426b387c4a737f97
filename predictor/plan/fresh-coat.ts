/** A coat that is not sprayed yet: what it will come to when it is finished at an instant ahead. */
import type { Ahead, ClimateReading, CoatSetup, Outcome } from "../cure/climb.ts";
import { CoatClimb } from "../cure/coat-climb.ts";

/**
 * The outcome, as of its finish, of a coat finished at an instant within or after `ahead`. Its panel is then at
 * `coat.panelAtFinishC` or, without that, at what the place's panel sensor or the air says.
 */
export function freshOutcome(coat: Omit<CoatSetup, "finishedAtMs">, ahead: Ahead, finishedAtMs: number): Outcome {
  const climb = new CoatClimb({ ...coat, finishedAtMs });
  const onward = (readings: readonly ClimateReading[]) => {
    const [first, ...rest] = from(readings, finishedAtMs);
    if (first === undefined) return [];
    return coat.panelAtFinishC === undefined ? [first, ...rest] : [{ ...first, panelC: null }, ...rest];
  };
  const [first, ...rest] = onward(ahead.likely);
  if (first !== undefined) climb.append(first);
  return climb.outcome(finishedAtMs, { likely: rest, ...(ahead.cold && { cold: onward(ahead.cold) }) });
}

/** The readings from an instant on, the first of them at that instant: evenly between its neighbours, held at both ends. */
function from(readings: readonly ClimateReading[], atMs: number): ClimateReading[] {
  const index = readings.findIndex((reading) => reading.atMs > atMs);
  const after = index < 0 ? undefined : readings[index];
  const before = index < 0 ? readings.at(-1) : readings[index - 1];
  if (before === undefined) return after === undefined ? [] : [{ ...after, atMs }, ...readings];
  const { movedIn: _, ...first } = { ...before, atMs };
  if (after === undefined) return [first];
  const x = (atMs - before.atMs) / (after.atMs - before.atMs);
  // Before a car's move the old place's last reading holds.
  if (after.movedIn !== true) {
    first.airC += x * (after.airC - before.airC);
    first.rhPercent += x * (after.rhPercent - before.rhPercent);
    if (isNumber(before.panelC) && isNumber(after.panelC)) {
      first.panelC = before.panelC + x * (after.panelC - before.panelC);
    }
  }
  return [first, ...readings.slice(index)];
}

function isNumber(value: number | null | undefined): value is number {
  return typeof value === "number";
}
