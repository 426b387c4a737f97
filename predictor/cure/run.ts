/** One run up the ladder at a fixed factor on all rates: which rung it is on and when each ended. */
import type { RungStep } from "./rung-rates.ts";
import { cubicRoot, type StepCubic } from "./step-cubic.ts";

export interface RunState {
  rung: number;
  target: number;
  endedAt: Float64Array;
}

export class Run {
  /** The rung being climbed; equal to the number of rungs when all are. */
  rung = 0;
  /** The run leaves its rung when what that rung's rate has summed up to reaches this. */
  target: number;
  /** Minutes since the finish at which each rung ended; NaN before. */
  readonly endedAt: Float64Array;
  private readonly perRung: number;

  constructor(rungs: number, factor: number) {
    this.perRung = 1 / factor;
    this.target = this.perRung;
    this.endedAt = new Float64Array(rungs).fill(Number.NaN);
  }

  get done(): boolean {
    return this.rung >= this.endedAt.length;
  }

  /** Leaves the rung inside a step, `summed` being its sum at the step's start; tells how far into the step. */
  leave(summed: number, step: StepCubic, startMinutes: number, lengthMinutes: number): number {
    const x = cubicRoot(step, (this.target - summed) / lengthMinutes);
    this.endedAt[this.rung] = startMinutes + x * lengthMinutes;
    this.rung++;
    return x;
  }

  /** Enters the rung it is on, whose sum at that instant is `summed`. */
  enter(summed: number): void {
    this.target = summed + this.perRung;
  }

  /**
   * Leaves all rungs that are left at the rates at the start of these steps, which hold from now on; `summed` is the
   * sum of the rung it is on.
   */
  finish(nowMinutes: number, summed: number, steps: readonly RungStep[]): void {
    let minutes = nowMinutes;
    let missing = this.target - summed;
    for (const { start } of steps.slice(this.rung)) {
      minutes += missing / start;
      missing = this.perRung;
      this.endedAt[this.rung] = minutes;
      this.rung++;
    }
  }

  state(): RunState {
    return { rung: this.rung, target: this.target, endedAt: this.endedAt.slice() };
  }

  restore(state: RunState): void {
    this.rung = state.rung;
    this.target = state.target;
    this.endedAt.set(state.endedAt);
  }
}
