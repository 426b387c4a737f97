/** What every kind of source is to the agent. */
import type { Logger } from "pino";
import type { Urgency } from "../outbox/outbox.ts";
import type { Reading } from "../readings.ts";

/** A value as it was just read: the agent adds the instant, by a clock that can be believed. */
export type Measurement = Omit<Reading, "atMs" | "mark">;

/** Where a source puts its readings. */
export interface Outlet {
  /** Takes what was read in this moment, of any of the source's sensors. Never throws. */
  measured(measurements: readonly Measurement[]): void;
  /** Takes readings whose instants the source knows itself (recorded or invented ones). Never throws. */
  put(readings: readonly Reading[], urgency: Urgency): void;
  /** Resolves when the outbox has room for more. What can wait (a file, an invented past) awaits it between puts. */
  room(): Promise<void>;
}

export interface SourceState {
  /** For the installer, in a few words that change only when something does. */
  state: string;
  /** What was met since the start, by kind. */
  counters: Record<string, number>;
}

export interface Source {
  readonly name: string;
  /** Begins; whatever goes wrong, now or later, is logged and told by `state`. */
  start(outlet: Outlet): void;
  /** Ends every timer, file and port the source opened. */
  stop(): Promise<void>;
  state(): SourceState;
}

/** What a source may need to know of where it runs. */
export interface SourceContext {
  /** Relative paths start here. */
  baseFolder: string;
  /** The shop's IANA time zone. */
  shopZone: string;
  /** Whether a rehearsal sends its invented past: true at the first start, when the store holds nothing of it. */
  sendPast: boolean;
  logger: Logger;
}
