/** Each reading that was made, held against what is in the store. */
import Database from "better-sqlite3";
import { collectors, type Machines } from "./machines.ts";
import { notedIn } from "./tally.ts";

export interface JoinedReadings {
  /** Noted by the collectors before their agents got them; those in doubt are not counted. */
  made: number;
  /** Of those made: with the very value, at the very instant, once. */
  stored: number;
  lost: number;
  /** In the store with another value than the one made. */
  changed: number;
  /** In the store with no reading that was made at that instant: a second copy of one under another instant, or one that nobody made. */
  doubled: number;
  /** Of those stored: marked by the collector. */
  marked: number;
  /** The last ones before each kill of a collector, which the kill may have kept from the outbox; those of them in the store. */
  inDoubt: number;
  inDoubtStored: number;
  /** For a look at what went wrong: the first few of each. */
  examples: string[];
}

const examplesKept = 20;

export async function readingsIn(machines: Pick<Machines, "readingsFile" | "tallyFile">): Promise<JoinedReadings> {
  const joined: JoinedReadings = {
    made: 0,
    stored: 0,
    lost: 0,
    changed: 0,
    doubled: 0,
    marked: 0,
    inDoubt: 0,
    inDoubtStored: 0,
    examples: [],
  };
  const store = new Database(machines.readingsFile, { readonly: true });
  try {
    for (const collector of Object.keys(collectors)) await joinCollector(store, collector, machines, joined);
  } finally {
    store.close();
  }
  return joined;
}

async function joinCollector(
  store: Database.Database,
  collector: string,
  machines: Pick<Machines, "tallyFile">,
  joined: JoinedReadings,
): Promise<void> {
  const example = (what: string, series: string, atMs: number) => {
    if (joined.examples.length >= examplesKept) return;
    joined.examples.push(`${what}: ${collector}/${series} at ${new Date(atMs).toISOString()}`);
  };
  const rows = new Map<string, Map<number, number>>();
  const select = store.prepare<[string], { series: string; atMs: number; value: number; isMarked: number }>(
    `SELECT sensor || '/' || quantity AS series, at_ms AS atMs, value, mark IS NOT NULL AS isMarked
     FROM readings JOIN series ON series.id = readings.series WHERE collector = ?`,
  );
  for (const { series, atMs, value, isMarked } of select.iterate(collector)) {
    const ofSeries = rows.get(series) ?? new Map<number, number>();
    rows.set(series, ofSeries);
    ofSeries.set(atMs, value);
    joined.marked += isMarked;
  }
  for await (const { sensor, quantity, atMs, value, isInDoubt } of notedIn(machines.tallyFile(collector))) {
    const series = `${sensor}/${quantity}`;
    const found = rows.get(series)?.get(atMs);
    rows.get(series)?.delete(atMs);
    if (isInDoubt) {
      joined.inDoubt += 1;
      if (found !== undefined) joined.inDoubtStored += 1;
    } else joined.made += 1;
    if (found === undefined) {
      if (isInDoubt) continue;
      joined.lost += 1;
      example("lost", series, atMs);
    } else if (found !== value) {
      joined.changed += 1;
      example(`stored as ${found}, not ${value}`, series, atMs);
    } else if (!isInDoubt) joined.stored += 1;
  }
  for (const [series, left] of rows) {
    joined.doubled += left.size;
    for (const atMs of left.keys()) example("doubled", series, atMs);
  }
}
