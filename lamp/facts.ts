/** What the predictor keeps retained, as far as a lamp needs it: which coats are ready for what, and which warnings stand. */
import { z } from "zod";
import { jsonIn } from "../collector/readings.ts";
import type { Tally } from "../collector/tally.ts";
import { type Urgency, urgencies } from "../predictor/warnings/condition.ts";

const readinessSchema = z.object({ place: z.string(), readyFor: z.string().nullable() });
const warningSchema = z.object({
  id: z.string(),
  rule: z.string(),
  place: z.string(),
  urgency: z.enum(urgencies),
  since: z.string(),
});

export type Fact = {
  /** The same for as long as it is the same coat at the same stage, or the same warning, in however many places. */
  key: string;
  place: string;
  /** When it began to be true, where the message says so. */
  since: string;
} & ({ kind: "ready"; stage: string } | { kind: "warning"; rule: string; urgency: Urgency });

/** More than any shop has: a flood of topics must not fill the memory. */
const mostFacts = 5_000;

/**
 * The facts by topic. A lost connection may hide that one was taken back, so those of an earlier connection are kept apart
 * until the new one has told them again, or has had the time to.
 */
export class Facts {
  readonly #entries = new Map<string, { fact: Fact; connection: number }>();
  readonly #tally: Tally;
  #connection = 0;
  #shownFrom = 0;

  constructor(tally: Tally) {
    this.#tally = tally;
  }

  /** Takes one message of `readiness/+/+` or `warnings/+/+`; one that is not of the documented form changes nothing. */
  take(topic: string, payload: Buffer): void {
    if (payload.length === 0) {
      this.#entries.delete(topic);
      return;
    }
    const fact = factOf(topic, jsonIn(payload));
    if (fact === undefined) this.#tally.fault("not of the documented form", { topic });
    else if (fact === null) this.#entries.delete(topic);
    else if (this.#entries.size >= mostFacts && !this.#entries.has(topic)) this.#tally.fault("too many", { topic });
    else this.#entries.set(topic, { fact, connection: this.#connection });
  }

  connectionLost(): void {
    this.#connection += 1;
  }

  /** Shows what earlier connections told no more; it is still known. */
  hideOld(): void {
    this.#shownFrom = this.#connection;
  }

  /** Forgets what the present connection has not told again. */
  dropOld(): void {
    for (const [topic, { connection }] of this.#entries) {
      if (connection < this.#connection) this.#entries.delete(topic);
    }
  }

  /** Everything known, hidden or not. */
  all(): Fact[] {
    return [...this.#entries.values()].map(({ fact }) => fact);
  }

  shown(): Fact[] {
    return [...this.#entries.values()]
      .filter(({ connection }) => connection >= this.#shownFrom)
      .map(({ fact }) => fact);
  }
}

/** Null where the message says that there is nothing; undefined where it is none of ours. */
function factOf(topic: string, message: unknown): Fact | null | undefined {
  const kind = topic.split("/").at(-3);
  if (kind === "readiness") {
    const { success, data } = readinessSchema.safeParse(message);
    if (!success) return undefined;
    const { place, readyFor } = data;
    return readyFor === null ? null : { kind: "ready", key: `${topic} ${readyFor}`, place, since: "", stage: readyFor };
  }
  const { success, data } = warningSchema.safeParse(message);
  if (!success) return undefined;
  const { id, rule, place, urgency, since } = data;
  return { kind: "warning", key: `warning ${id}`, place, since, rule, urgency };
}
