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
  #sentAtMs = Number.NEGATIVE_INFINITY;

  constructor(parts: StepByStepParts) {
    this.#parts = parts;
  }

  /** To be called when there may be more to send, when the far end has said what it holds, and about once a second. */
  pump(patienceMs = this.#parts.patienceMs): void {
    const { next, send, nowMs } = this.#parts;
    const step = next();
    if (step === null) return;
    if (step.step === this.#sent && nowMs() - this.#sentAtMs < patienceMs) return;
    this.#sent = step.step;
    this.#sentAtMs = nowMs();
    send(step.message);
  }

  /** What was on its way may be lost: it is due again at once. */
  lost(): void {
    this.#sent = "";
  }
}
