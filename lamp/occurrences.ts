/** Tells what is new from what was told before, so that a buzzer sounds once for each thing. */

/** Then the oldest are forgotten. */
const mostRemembered = 1_000;

export interface Occurrence {
  key: string;
  /** When it began; another instant under the same key is another occurrence, unless it had never gone meanwhile. */
  since: string;
}

export class Occurrences {
  readonly #told = new Map<string, string>();
  #present = new Set<string>();

  /** Whether one of those that are true now is new. A predictor that starts anew says another `since` for the same thing. */
  areNew(now: readonly Occurrence[]): boolean {
    const isNew = now.some(({ key, since }) => !this.#present.has(key) && this.#told.get(key) !== since);
    this.#present = new Set(now.map(({ key }) => key));
    for (const { key, since } of now) {
      this.#told.delete(key);
      this.#told.set(key, since);
    }
    for (const key of this.#told.keys()) {
      if (this.#told.size <= mostRemembered) break;
      this.#told.delete(key);
    }
    return isNew;
  }
}
