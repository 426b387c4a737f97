/** Sends one message after another: the next when the last is held at the far end, and the same again when nothing moves for a while. */

/** What may be sent now. `step` is another where it follows on something else. */
export interface Step {
  step: string;
  message: object;
}

export interface StepByStepParts {
  /** Null while there is nothing to send. */
  next: () => Step | null;
  send: (message: object) => void;
  /** Monotonic milliseconds. */
  nowMs: () => number;
  patienceMs: number;
}

export class StepByStep {
  readonly #parts: StepByStepParts;
  #sent = "";
  #againAtMs = Number.NEGATIVE_INFINITY;

  constructor(parts: StepByStepParts) {
    this.#parts = parts;
  }

  /** To be called when there may be more to send, when the far end has said what it holds, and about once a second. */
  pump(): void {
    const { next, send, nowMs, patienceMs } = this.#parts;
    const step = next();
    if (step === null) return;
    if (step.step === this.#sent && nowMs() < this.#againAtMs) return;
    this.#sent = step.step;
    this.#againAtMs = nowMs() + patienceMs;
    send(step.message);
  }

  /** What was on its way may be lost: it is due again at once. */
  lost(): void {
    this.#sent = "";
  }
}
