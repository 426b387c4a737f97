/** The account of a soak: what was made and what became of it, what went wrong on purpose, and whether all is sound. */
import { cpus } from "node:os";
import Database from "better-sqlite3";
import { readEntry } from "../../predictor/records/log.ts";
import { verify } from "../../predictor/records/verify.ts";
import { type Courses, differing } from "./courses.ts";
import type { JoinedReadings } from "./joined.ts";
import type { Machines } from "./machines.ts";
import { type MemoryAccount, memoryOf } from "./memory.ts";
import type { SoakOptions } from "./options.ts";
import type { Painter } from "./painter.ts";
import type { FaultKind } from "./schedule.ts";
import type { Strangers } from "./strangers.ts";

export interface Account {
  seed: number;
  days: number;
  everySeconds: number;
  broker: string;
  /** Simulated seconds in a real one. */
  factor: number;
  machine: { cpu: string; cores: number; node: string };
  readings: JoinedReadings;
  entries: { acknowledged: number; found: number; lost: number; doubled: number; refused: number; resent: number };
  chain: { entries: number; faults: string[] };
  /** Live coats at the end, and those of which the program said something else after a start from the store. */
  coats: { live: number; differing: string[] };
  kills: Record<string, number>;
  faults: Partial<Record<FaultKind, number>>;
  /** What strangers got across. */
  strangers: Strangers["sent"];
  /** Ends of processes that nobody meant. */
  crashes: string[];
  memory: MemoryAccount;
  /** How often each rule was raised. */
  warnings: Record<string, number>;
  /** Why all is not sound; empty where it is. */
  unsound: string[];
}

export interface AccountParts {
  options: SoakOptions;
  factor: number;
  readings: JoinedReadings;
  painter: Pick<Painter, "acknowledged" | "refused" | "resent">;
  machines: Pick<Machines, "recordsFile" | "kills" | "crashes" | "samples">;
  strangers: Pick<Strangers, "sent">;
  followed: Courses;
  anew: Courses;
  done: ReadonlyMap<FaultKind, number>;
}

/** To be made when all processes have ended. */
export function accountOf(parts: AccountParts): Account {
  const { options, factor, readings, painter, machines, followed, anew } = parts;
  const log = entriesIn(machines.recordsFile);
  const keys = new Set(log.flatMap(({ key }) => (key === undefined ? [] : [key])));
  const found = [...painter.acknowledged].filter((key) => keys.has(key)).length;
  const byPeople = log.filter(({ role, kind }) => role !== "program" && !kind.startsWith("person-"));
  const { entries, faults } = verify(machines.recordsFile);
  const account: Account = {
    seed: options.seed,
    days: options.days,
    everySeconds: options.everySeconds,
    broker: options.broker,
    factor,
    machine: { cpu: cpus()[0]?.model ?? "unknown", cores: cpus().length, node: process.version },
    readings,
    entries: {
      acknowledged: painter.acknowledged.size,
      found,
      lost: painter.acknowledged.size - found,
      doubled: byPeople.length - found,
      refused: painter.refused.length,
      resent: painter.resent,
    },
    chain: { entries, faults },
    coats: { live: followed.size, differing: differing(followed, anew) },
    kills: machines.kills(),
    faults: Object.fromEntries(parts.done),
    strangers: parts.strangers.sent,
    crashes: machines.crashes(),
    memory: memoryOf(machines.samples()),
    warnings: countsOf(log.flatMap(({ kind, what }) => (kind === "warning-raised" ? [what.rule] : []))),
    unsound: [],
  };
  return { ...account, unsound: unsoundIn(account) };
}

function entriesIn(file: string) {
  const db = new Database(file, { readonly: true });
  try {
    const rows = db.prepare<[], { entry: string; hash: string }>("SELECT entry, hash FROM log ORDER BY seq").all();
    return rows.map(({ entry, hash }) => readEntry(entry, hash));
  } finally {
    db.close();
  }
}

function unsoundIn({ readings, entries, chain, coats, crashes, memory }: Account): string[] {
  const is = (amount: number, what: string) => (amount > 0 ? [`${amount} ${what}`] : []);
  return [
    ...(readings.made > 0 ? [] : ["no reading was made"]),
    ...(entries.acknowledged > 0 ? [] : ["nothing was entered"]),
    ...is(readings.lost, "readings lost"),
    ...is(readings.doubled, "readings doubled"),
    ...is(readings.changed, "readings changed"),
    ...is(entries.lost, "acknowledged entries lost"),
    ...is(entries.doubled, "entries doubled"),
    ...coats.differing.map((words) => `made anew it differs: ${words}`),
    ...chain.faults,
    ...crashes,
    ...(memory.isFlat ? [] : ["the predictor's memory grows"]),
  ];
}

function countsOf(names: readonly string[]): Record<string, number> {
  const counts: Record<string, number> = {};
  for (const name of names) counts[name] = (counts[name] ?? 0) + 1;
  return counts;
}
