/** What a soak is asked for. */

export interface SoakOptions {
  seed: number;
  days: number;
  /** How long that takes. */
  minutes: number;
  /** A reading of each quantity so often, by the simulated clock. */
  everySeconds: number;
  /** All rates of faults times this. */
  often: number;
  broker: "mosquitto" | "embedded";
  /** Told now and then. */
  tell: (words: string) => void;
}
