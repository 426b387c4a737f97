/** Those who want to hear of something. */
export class Listeners<Of extends unknown[]> {
  readonly #listeners = new Set<(...of: Of) => void>();

  /** The function returned ends it. */
  add(listener: (...of: Of) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  tell(...of: Of): void {
    for (const listener of this.#listeners) listener(...of);
  }
}
