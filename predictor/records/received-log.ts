/** A copy of another machine's log, made entry by entry as they come: each is checked as the whole chain would be, and kept verbatim. */
import type Database from "better-sqlite3";
import { checkChain } from "./chain.ts";
import { hashOf, type Log, type LogEntry, noHash, type Written } from "./log.ts";
import { project } from "./projections.ts";

/** An entry as it came, before anything is known of it. */
export type Received = Pick<Written, "entry" | "hash">;

export type Reception =
  /** All are held now, or were already. */
  | { kind: "held" }
  /** Entries before these are missing. */
  | { kind: "gap" }
  /** What is not the log that was begun: it names the entry, and neither that nor anything after it is taken. */
  | { kind: "broken"; fault: string }
  /** Sound, but of a form that this version does not know. */
  | { kind: "unknown"; fault: string };

/** Takes entries, oldest first, each with its tables in one transaction. Gives those that are new to `taken`. */
export function receive(
  { db, log }: { db: Database.Database; log: Log },
  entries: readonly Received[],
  taken: (entry: LogEntry) => void,
): Reception {
  for (const received of entries) {
    const seq = seqIn(received.entry);
    const head = log.head();
    const next = (head?.seq ?? 0) + 1;
    if (seq !== null && seq > next) return { kind: "gap" };
    if (seq !== null && seq < next) {
      if (log.hashAt(seq) === hashOf(received.entry)) continue;
      return { kind: "broken", fault: `entry ${seq}: it came again, and is another than the one that is held` };
    }
    const reception = receiveNext({ db, log }, received, head, taken);
    if (reception !== null) return reception;
  }
  return { kind: "held" };
}

function receiveNext(
  { db, log }: { db: Database.Database; log: Log },
  { entry: text, hash }: Received,
  head: { seq: number; hash: string } | null,
  taken: (entry: LogEntry) => void,
): Reception | null {
  const seq = (head?.seq ?? 0) + 1;
  const row = { seq, entry: Buffer.from(text), hash: Buffer.from(hash) };
  const [link] = checkChain([row], head ?? { seq: 0, hash: noHash });
  if (link === undefined) return null;
  const [fault] = link.faults;
  if (fault !== undefined) {
    return link.isOfUnknownForm ? { kind: "unknown", fault } : { kind: "broken", fault };
  }
  const { entry } = link;
  if (entry === null) return null;
  try {
    db.transaction(() => {
      log.take({ seq, entry: text, hash });
      project(db, entry);
    }).immediate();
  } catch (error) {
    if (isOfTheDisk(error)) throw error;
    return {
      kind: "broken",
      fault: `entry ${seq}: it does not fit what was entered before it (${(error as Error).message})`,
    };
  }
  taken(entry);
  return null;
}

/** The number that an entry says it has; null where it says none. */
function seqIn(entry: string): number | null {
  try {
    const { seq } = JSON.parse(entry) as { seq?: unknown };
    return Number.isSafeInteger(seq) && (seq as number) > 0 ? (seq as number) : null;
  } catch {
    return null;
  }
}

function isOfTheDisk(error: unknown): boolean {
  const { code } = error as { code?: unknown };
  return typeof code === "string" && /^SQLITE_(FULL|IOERR|BUSY|READONLY|CANTOPEN|NOMEM|CORRUPT)/.test(code);
}
