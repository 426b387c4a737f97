/** What is known of each warning beside its condition, and the record of it: raised, answered, set aside, said again, ended. */
import type { Logger } from "pino";
import type { Words } from "../../words/words.ts";
import { RecordFault } from "../records/record-fault.ts";
import {
  type By,
  conflict,
  program,
  type RecordedWarning,
  type Records,
  type WarningEvent,
} from "../records/records.ts";
import type { Standing } from "./condition.ts";
import { familyOf, occurrenceId } from "./life.ts";

export interface Occurrence {
  id: string;
  sinceMs: number;
  answer: RecordedWarning["answer"];
  setAside: RecordedWarning["setAside"];
  /** Told to people since it was raised, or since it was set aside. */
  isTold: boolean;
}

export interface OccurrenceParts {
  records: Pick<Records, "addWarningEvent" | "warningsOpen">;
  /** The shop's own, for what the records keep as said. */
  words: Words;
  now: () => number;
  logger: Logger;
}

/** What was open before a restart and does not show by then is over. */
const restartGraceMs = 5 * 60_000;
/** More than a shop raises in a week: a disk that stays full must not fill the memory. */
const waitingAtMost = 2_000;

export class Occurrences {
  readonly #parts: OccurrenceParts;
  readonly #byKey = new Map<string, Occurrence>();
  /** Open in the records since before the start, by family. */
  readonly #before = new Map<string, RecordedWarning>();
  readonly #graceEndsAtMs: number;
  /** What could not be recorded yet, in order. */
  readonly #waiting: WarningEvent[] = [];
  #isStuck = false;
  #raised = 0;

  constructor(parts: OccurrenceParts) {
    this.#parts = parts;
    for (const warning of parts.records.warningsOpen()) {
      const family = warning.id.split("-")[0] ?? "";
      const earlier = this.#before.get(family);
      // Its end could not be recorded before the restart.
      if (earlier !== undefined) this.#record({ event: "ended", id: earlier.id });
      this.#before.set(family, warning);
    }
    this.#graceEndsAtMs = parts.now() + restartGraceMs;
  }

  /** How many were raised since the start. */
  get raised(): number {
    return this.#raised;
  }

  of(key: string): Occurrence | undefined {
    return this.#byKey.get(key);
  }

  keyOf(id: string): string | undefined {
    return [...this.#byKey].find(([, occurrence]) => occurrence.id === id)?.[0];
  }

  /** Said before the restart, and not seen again yet. */
  isBefore(key: string): boolean {
    return this.#before.has(familyOf(key));
  }

  begin({ key, rule, place, coatId, carId, urgency, text }: Standing): void {
    const before = this.#before.get(familyOf(key));
    if (before !== undefined) {
      this.#before.delete(familyOf(key));
      const { id, raisedAtMs: sinceMs, answer, setAside } = before;
      const isTold = setAside === null || setAside.saidAgainAtMs !== undefined;
      this.#byKey.set(key, { id, sinceMs, answer, setAside, isTold });
      return;
    }
    this.#raised += 1;
    const sinceMs = this.#parts.now();
    const id = occurrenceId(key, sinceMs);
    const said = this.#parts.words.say(text);
    this.#byKey.set(key, { id, sinceMs, answer: null, setAside: null, isTold: false });
    this.#record({ event: "raised", id, rule, place, coatId, carId, urgency, text, said });
  }

  answer(occurrence: Occurrence, done: string, by: By): void {
    this.#add({ event: "answered", id: occurrence.id, done }, by);
    occurrence.answer = { who: by.who, atMs: this.#parts.now(), done };
  }

  setAside(occurrence: Occurrence, minutes: number, reason: string, by: By): void {
    if (occurrence.answer !== null) throw conflict("warning.answered");
    const atMs = this.#parts.now();
    const untilMs = atMs + minutes * 60_000;
    this.#add({ event: "set aside", id: occurrence.id, untilMs, reason }, by);
    occurrence.setAside = { who: by.who, atMs, untilMs, reason };
    occurrence.isTold = false;
  }

  told(occurrence: Occurrence): void {
    occurrence.isTold = true;
    if (occurrence.setAside !== null) this.#record({ event: "said again", id: occurrence.id });
  }

  end(key: string): void {
    const occurrence = this.#byKey.get(key);
    if (occurrence === undefined) return;
    this.#byKey.delete(key);
    this.#record({ event: "ended", id: occurrence.id });
  }

  /** Ends what did not show again after a restart, and records what could not be recorded before; asked with every look. */
  tidy(): void {
    if (this.#parts.now() >= this.#graceEndsAtMs) {
      for (const { id } of this.#before.values()) this.#record({ event: "ended", id });
      this.#before.clear();
    }
    this.#tryToWrite();
  }

  /** What people enter is kept or refused, after what waits. */
  #add(event: WarningEvent, by: By): void {
    this.#write();
    this.#parts.records.addWarningEvent(event, by);
  }

  /** A full disk must not keep a warning from being shown, nor leave it open for good: it is recorded once there is room. */
  #record(event: WarningEvent): void {
    this.#waiting.push(event);
    if (this.#waiting.length > waitingAtMost) this.#waiting.shift();
    this.#tryToWrite();
  }

  #tryToWrite(): void {
    try {
      this.#write();
      this.#isStuck = false;
    } catch (error) {
      if (!this.#isStuck) this.#parts.logger.error({ err: error }, "what happens to warnings can't be recorded now");
      this.#isStuck = true;
    }
  }

  #write(): void {
    for (let event = this.#waiting[0]; event !== undefined; event = this.#waiting[0]) {
      try {
        this.#parts.records.addWarningEvent(event, program);
      } catch (error) {
        // What the records refuse they refuse every time.
        if (!(error instanceof RecordFault)) throw error;
        this.#parts.logger.error({ err: error, event }, "the records refuse what happened to a warning");
      }
      this.#waiting.shift();
    }
  }
}
