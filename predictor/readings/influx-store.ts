/** One shop's readings in InfluxDB: the measurement `readings`, and `five_minutes` of the roll-ups that take their place. */
import type { IPoint } from "influx";
import { type Quantity, quantities } from "../../collector/readings.ts";
import type { InTurn } from "./in-turn.ts";
import type { Group, InfluxConnection } from "./influx-connection.ts";
import { gathered, inOrder, joined } from "./joined.ts";
import { markFrom, markText } from "./mark-text.ts";
import {
  type Bucket,
  furthestMs,
  type ReadingStore,
  type ReadingTarget,
  refuseBeyond,
  rollUpMs,
  rollUpStart,
  type Sample,
  type Series,
  type StoredReading,
  seriesKey,
} from "./store.ts";

/** A series as it is known here. */
interface Line extends Series {
  /** Nothing of it is stored later than this: what comes later is new without asking. -Infinity where nothing is. */
  newestMs: number;
  /** End of its newest roll-up; -Infinity where it has none. */
  rolledUpToMs: number;
}

interface Parts {
  connection: InfluxConnection;
  shop: string;
  /** Of all shops in the database. */
  inTurn: InTurn;
}

type Bind = (text: string) => string;

const rowsAPage = 10_000;
/** Instants of one series that are this close are looked up together. */
const togetherMs = 10 * 60_000;
const statementsARequest = 40;
/** An hour of one series: 3,600 readings where one comes each second. */
const pieceMs = 12 * rollUpMs;
const middleMs = rollUpMs / 2;
const byLine = "GROUP BY collector, sensor, quantity";

export class InfluxStore implements ReadingStore, ReadingTarget {
  readonly #connection: InfluxConnection;
  readonly #shop: string;
  readonly #inTurn: InTurn;
  readonly #lines = new Map<string, Line>();

  private constructor({ connection, shop, inTurn }: Parts) {
    this.#connection = connection;
    this.#shop = shop;
    this.#inTurn = inTurn;
  }

  static async open(parts: Parts): Promise<InfluxStore> {
    const store = new InfluxStore(parts);
    const [values = [], bad = [], rolled = []] = await parts.connection.ask((bind) => [
      `SELECT last(value) FROM readings WHERE shop = ${bind(parts.shop)} ${byLine}`,
      `SELECT last(bad) FROM readings WHERE shop = ${bind(parts.shop)} ${byLine}`,
      `SELECT last(count) FROM five_minutes WHERE shop = ${bind(parts.shop)} ${byLine}`,
    ]);
    for (const group of [...values, ...bad]) store.#grew(seriesOf(group), timeOf(group.rows[0]));
    for (const group of rolled) store.#rolledUp(store.#lineOf(seriesOf(group)), timeOf(group.rows[0]) + rollUpMs);
    return store;
  }

  append(readings: readonly StoredReading[]): Promise<StoredReading[]> {
    return this.#inTurn(async () => {
      const fresh = await this.unknown(readings);
      await this.#connection.write(fresh.map((reading) => readingPoint(this.#shop, reading)));
      this.wrote(fresh);
      return fresh;
    });
  }

  /** Those that are not stored, each once, in the order given. Asks InfluxDB only of what is not newer than all that is stored of its series. */
  async unknown<T extends StoredReading>(readings: readonly T[]): Promise<T[]> {
    const seen = new Set<string>();
    const once = readings.filter((reading) => {
      refuseBeyond(reading);
      const key = readingKey(reading);
      return seen.has(key) ? false : seen.add(key);
    });
    const late = once.filter((reading) => !this.isNewest(reading));
    if (late.length === 0) return once;
    const known = await this.#known(late);
    return once.filter((reading) => !known.has(readingKey(reading)));
  }

  /** Whether a reading is newer than all that is stored of its series. */
  isNewest(reading: StoredReading): boolean {
    return reading.atMs > (this.#lines.get(seriesKey(reading))?.newestMs ?? Number.NEGATIVE_INFINITY);
  }

  /** Tells of readings that were written to this shop by another way. */
  wrote(readings: readonly StoredReading[]): void {
    for (const reading of readings) this.#grew(reading, reading.atMs);
  }

  async range(series: Series, fromMs: number, toMs: number): Promise<Sample[]> {
    const line = this.#lines.get(seriesKey(series));
    if (line === undefined || !(fromMs < toMs)) return [];
    // Readings before roll-ups: those that are rolled up meanwhile are told by the roll-ups.
    const kept = await this.#readings(line, fromMs, toMs);
    const rolled = await this.#rollUps(line, rollUpStart(fromMs), toMs);
    const means = rolled.map(meanOf).filter(({ atMs }) => atMs >= fromMs && atMs < toMs);
    return inOrder(notIn(rolled, kept), means);
  }

  async latest(series: Series, atOrBeforeMs = furthestMs): Promise<Sample | undefined> {
    const line = this.#lines.get(seriesKey(series));
    if (line === undefined) return undefined;
    let beforeMs = Math.floor(Math.min(atOrBeforeMs, furthestMs)) + 1;
    const [rolled] = await this.#answer((bind) => [
      `SELECT count, min, max, mean FROM five_minutes WHERE ${this.#during(line, bind, -furthestMs, beforeMs - middleMs)} ORDER BY time DESC LIMIT 1`,
    ]);
    for (;;) {
      const [kept] = await this.#answer((bind) => [
        // With the mark of the same reading.
        `SELECT last(value), mark FROM readings WHERE ${this.#during(line, bind, -furthestMs, beforeMs)}`,
      ]);
      const sample = kept && sampleOf(kept[0], kept[1], null, kept[2]);
      if (sample !== undefined && (await this.#isRolledUp(line, sample.atMs))) {
        beforeMs = rollUpStart(sample.atMs);
        continue;
      }
      return inOrder(sample === undefined ? [] : [sample], rolled === undefined ? [] : [meanOf(bucketOf(rolled))]).at(
        -1,
      );
    }
  }

  async earliest(series: Series, atOrAfterMs = -furthestMs): Promise<Sample | undefined> {
    const line = this.#lines.get(seriesKey(series));
    if (line === undefined) return undefined;
    let fromMs = Math.max(atOrAfterMs, -furthestMs);
    const [rolled] = await this.#answer((bind) => [
      `SELECT count, min, max, mean FROM five_minutes WHERE ${this.#during(line, bind, fromMs - middleMs, Infinity)} ORDER BY time LIMIT 1`,
    ]);
    for (;;) {
      const [sample] = await this.#page(line, fromMs, Number.POSITIVE_INFINITY, 1);
      if (sample !== undefined && (await this.#isRolledUp(line, sample.atMs))) {
        fromMs = rollUpStart(sample.atMs) + rollUpMs;
        continue;
      }
      return inOrder(sample === undefined ? [] : [sample], rolled === undefined ? [] : [meanOf(bucketOf(rolled))])[0];
    }
  }

  async thin(series: Series, span: { fromMs: number; toMs: number; bucketMs: number }): Promise<Bucket[]> {
    const line = this.#lines.get(seriesKey(series));
    const { fromMs, toMs, bucketMs } = span;
    if (line === undefined || !(fromMs < toMs)) return [];
    for (;;) {
      // Before the end of the newest roll-up there are few readings: some that came late, some that are being rolled up.
      const { rolledUpToMs } = line;
      const thinFromMs = Math.max(fromMs, Math.min(rolledUpToMs, toMs));
      const early = thinFromMs > fromMs ? await this.#readings(line, fromMs, thinFromMs) : [];
      const thinned = await this.#thinned(line, { fromMs: thinFromMs, toMs }, span);
      const rolled = await this.#rollUps(line, fromMs, toMs);
      const newest = rolled.at(-1);
      if (newest !== undefined && newest.startMs >= rolledUpToMs) {
        this.#rolledUp(line, newest.startMs + rollUpMs);
        continue;
      }
      const { lowest, highest } = quantities[line.quantity];
      const isOfUse = ({ value, mark }: Sample) => value >= lowest && value <= highest && mark?.quality !== "bad";
      const inRolled = thinFromMs > fromMs ? await this.#rollUps(line, rollUpStart(fromMs), fromMs) : [];
      const usable = notIn([...inRolled, ...rolled], early).filter(isOfUse);
      const single = usable.map(({ atMs, value }) => ({
        startMs: atMs,
        count: 1,
        min: value,
        max: value,
        mean: value,
      }));
      return joined(joined(thinned, gathered(single, span)), markedCoarse(gathered(rolled, span), bucketMs));
    }
  }

  async rollUp(beforeMs: number): Promise<number> {
    return this.#inTurn(async () => {
      const groups = await this.#connection.ask((bind) => [
        `SELECT first(value) FROM readings WHERE shop = ${bind(this.#shop)} ${byLine}`,
        `SELECT first(bad) FROM readings WHERE shop = ${bind(this.#shop)} ${byLine}`,
      ]);
      const oldestMs = new Map<string, number>();
      for (const group of groups.flat()) {
        const key = seriesKey(seriesOf(group));
        oldestMs.set(key, Math.min(timeOf(group.rows[0]), oldestMs.get(key) ?? Number.POSITIVE_INFINITY));
      }
      for (const [key, oldest] of oldestMs) {
        const line = this.#lines.get(key);
        const fromMs = rollUpStart(oldest);
        const toMs = Math.min(fromMs + pieceMs, rollUpStart(beforeMs));
        if (line !== undefined && toMs > fromMs) return this.#rollUpPiece(line, fromMs, toMs);
      }
      return 0;
    });
  }

  async countBuckets(series: Series, span: { fromMs: number; toMs: number; bucketMs: number }): Promise<number> {
    const line = this.#lines.get(seriesKey(series));
    const { fromMs, toMs, bucketMs } = span;
    if (line === undefined || !(fromMs < toMs)) return 0;
    // Roll-ups are few: there is nothing to skip.
    if (fromMs < line.rolledUpToMs) return (await this.thin(series, span)).length;
    const [row] = await this.#answer((bind) => [
      `SELECT count(n) FROM (SELECT count(value) AS n FROM readings WHERE ${this.#ofUse(line, bind, fromMs, toMs)} ${byTime(fromMs, bucketMs)})`,
    ]);
    return Number(row?.[1] ?? 0);
  }

  async takeRollUps(series: Series, rollUps: readonly Bucket[]): Promise<void> {
    const [first] = rollUps;
    const last = rollUps.at(-1);
    if (first === undefined || last === undefined) return;
    await this.#inTurn(async () => {
      const line = this.#lineOf(series);
      const there = new Set((await this.#rollUps(line, first.startMs, last.startMs + 1)).map(({ startMs }) => startMs));
      await this.#writeRollUps(
        line,
        rollUps.filter(({ startMs }) => !there.has(startMs)),
      );
    });
  }

  async series(): Promise<Series[]> {
    return [...this.#lines.values()].map(({ collector, sensor, quantity }) => ({ collector, sensor, quantity }));
  }

  /** The connection holds nothing that outlives a request. */
  async close(): Promise<void> {}

  async #rollUpPiece(line: Line, fromMs: number, toMs: number): Promise<number> {
    const piece = { fromMs, toMs };
    const [counts] = await this.#answer((bind) => [
      `SELECT count(value), count(bad) FROM readings WHERE ${this.#during(line, bind, fromMs, toMs)}`,
    ]);
    const made = await this.#thinned(line, piece, { ...piece, bucketMs: rollUpMs });
    // A roll-up that is there stays: readings beside it are those in it, left when this was cut off.
    const there = new Set((await this.#rollUps(line, fromMs, toMs)).map(({ startMs }) => startMs));
    await this.#writeRollUps(
      line,
      made.filter(({ startMs }) => !there.has(startMs)),
    );
    await this.#connection.ask((bind) => [`DELETE FROM readings WHERE ${this.#during(line, bind, fromMs, toMs)}`]);
    return Number(counts?.[1] ?? 0) + Number(counts?.[2] ?? 0);
  }

  async #writeRollUps(line: Line, rollUps: readonly Bucket[]): Promise<void> {
    await this.#connection.write(
      rollUps.map(({ startMs, count, min, max, mean }) => ({
        measurement: "five_minutes",
        tags: tagsOf(this.#shop, line),
        fields: { count, min, max, mean },
        timestamp: startMs,
      })),
    );
    for (const { startMs } of rollUps) this.#rolledUp(line, startMs + rollUpMs);
  }

  async #readings(line: Line, fromMs: number, toMs: number): Promise<Sample[]> {
    const samples: Sample[] = [];
    for (let nextMs = fromMs; ; ) {
      const page = await this.#page(line, nextMs, toMs, rowsAPage);
      for (const sample of page) samples.push(sample);
      const last = page.at(-1);
      if (last === undefined || page.length < rowsAPage) return samples;
      nextMs = last.atMs + 1;
    }
  }

  async #page(line: Line, fromMs: number, toMs: number, rows: number): Promise<Sample[]> {
    const answer = await this.#answer((bind) => [
      `SELECT value, bad, mark FROM readings WHERE ${this.#during(line, bind, fromMs, toMs)} ORDER BY time LIMIT ${rows}`,
    ]);
    return answer.flatMap(([time, value, bad, mark]) => sampleOf(time, value, bad, mark) ?? []);
  }

  async #rollUps(line: Line, fromMs: number, toMs: number): Promise<Bucket[]> {
    const rows = await this.#answer((bind) => [
      `SELECT count, min, max, mean FROM five_minutes WHERE ${this.#during(line, bind, fromMs, toMs)}`,
    ]);
    return rows.map(bucketOf);
  }

  /** Readings of use in buckets that are counted from another instant than the first of them. */
  async #thinned(
    line: Line,
    { fromMs, toMs }: { fromMs: number; toMs: number },
    buckets: { fromMs: number; bucketMs: number },
  ): Promise<Bucket[]> {
    if (!(fromMs < toMs)) return [];
    const rows = await this.#answer((bind) => [
      `SELECT count(value), min(value), max(value), mean(value) FROM readings
       WHERE ${this.#ofUse(line, bind, fromMs, toMs)} ${byTime(buckets.fromMs, buckets.bucketMs)}`,
    ]);
    return rows.map(bucketOf);
  }

  async #isRolledUp(line: Line, atMs: number): Promise<boolean> {
    if (!(atMs < line.rolledUpToMs)) return false;
    const startMs = rollUpStart(atMs);
    return (await this.#rollUps(line, startMs, startMs + 1)).length > 0;
  }

  /** Keys of those that are stored, or lie where readings were rolled up. */
  async #known(readings: readonly StoredReading[]): Promise<Set<string>> {
    const stretches = [...grouped(readings, seriesKey).values()].flatMap((ofSeries) => {
      const line = this.#lineOf(ofSeries[0] as StoredReading);
      return stretchesOf(ofSeries.map(({ atMs }) => atMs)).map((stretch) => ({ line, ...stretch }));
    });
    const stored = new Set<string>();
    const rolled = new Set<string>();
    for (let from = 0; from < stretches.length; from += statementsARequest / 2) {
      const some = stretches.slice(from, from + statementsARequest / 2);
      const answers = await this.#connection.ask((bind) =>
        some.flatMap(({ line, fromMs, toMs }) => [
          `SELECT value, bad FROM readings WHERE ${this.#during(line, bind, fromMs, toMs)}`,
          `SELECT count FROM five_minutes WHERE ${this.#during(line, bind, rollUpStart(fromMs), toMs)}`,
        ]),
      );
      for (const [index, groups] of answers.entries()) {
        const line = some[Math.floor(index / 2)]?.line;
        if (line === undefined) continue;
        const into = index % 2 === 0 ? stored : rolled;
        for (const row of rowsOf(groups)) into.add(readingKey({ ...line, atMs: timeOf(row) }));
      }
    }
    const isKnown = (reading: StoredReading) =>
      stored.has(readingKey(reading)) || rolled.has(readingKey({ ...reading, atMs: rollUpStart(reading.atMs) }));
    return new Set(readings.filter(isKnown).map(readingKey));
  }

  async #answer(statements: (bind: Bind) => readonly [string]): Promise<Group["rows"]> {
    const [groups = []] = await this.#connection.ask(statements);
    return rowsOf(groups);
  }

  #during({ collector, sensor, quantity }: Series, bind: Bind, fromMs: number, toMs: number): string {
    const from = Math.ceil(Math.max(fromMs, -furthestMs));
    const to = Math.ceil(Math.min(toMs, furthestMs + 1));
    return `shop = ${bind(this.#shop)} AND collector = ${bind(collector)} AND sensor = ${bind(sensor)} AND quantity = ${bind(quantity)}
      AND time >= ${from}ms AND time < ${to}ms`;
  }

  #ofUse(line: Line, bind: Bind, fromMs: number, toMs: number): string {
    const { lowest, highest } = quantities[line.quantity];
    return `value >= ${lowest} AND value <= ${highest} AND ${this.#during(line, bind, fromMs, toMs)}`;
  }

  #lineOf({ collector, sensor, quantity }: Series): Line {
    const key = seriesKey({ collector, sensor, quantity });
    let line = this.#lines.get(key);
    if (line === undefined) {
      line = {
        collector,
        sensor,
        quantity,
        newestMs: Number.NEGATIVE_INFINITY,
        rolledUpToMs: Number.NEGATIVE_INFINITY,
      };
      this.#lines.set(key, line);
    }
    return line;
  }

  #grew(series: Series, atMs: number): void {
    const line = this.#lineOf(series);
    line.newestMs = Math.max(line.newestMs, atMs);
  }

  #rolledUp(line: Line, toMs: number): void {
    line.rolledUpToMs = Math.max(line.rolledUpToMs, toMs);
    line.newestMs = Math.max(line.newestMs, toMs - 1);
  }
}

/** Of a reading of a shop, as it is written. A bad one has its number apart, so that whoever asks for `value` alone gets none. */
export function readingPoint(shop: string, reading: StoredReading): IPoint {
  const { atMs, value, mark } = reading;
  const fields = mark?.quality === "bad" ? { bad: value } : { value };
  return {
    measurement: "readings",
    tags: tagsOf(shop, reading),
    fields: { ...fields, mark: markText(mark) },
    timestamp: atMs,
  };
}

export function grouped<T>(all: readonly T[], keyOf: (one: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const one of all) {
    const group = groups.get(keyOf(one));
    if (group === undefined) groups.set(keyOf(one), [one]);
    else group.push(one);
  }
  return groups;
}

function tagsOf(shop: string, { collector, sensor, quantity }: Series): Record<string, string> {
  return { shop, collector, sensor, quantity };
}

function seriesOf({ tags: { collector = "", sensor = "", quantity } }: Group): Series {
  return { collector, sensor, quantity: quantity as Quantity };
}

function readingKey(reading: Series & { atMs: number }): string {
  return `${seriesKey(reading)} ${reading.atMs}`;
}

/** Buckets of the database, whose first starts at an instant; those without a reading are left out. */
function byTime(fromMs: number, bucketMs: number): string {
  const offsetMs = ((fromMs % bucketMs) + bucketMs) % bucketMs;
  return `GROUP BY time(${bucketMs}ms, ${offsetMs}ms) fill(none)`;
}

function rowsOf(groups: readonly Group[]): Group["rows"] {
  return groups.flatMap(({ rows }) => rows);
}

function timeOf(row: readonly unknown[] | undefined): number {
  return Number(row?.[0]);
}

function sampleOf(time: unknown, value: unknown, bad: unknown, mark: unknown): Sample | undefined {
  const number = value ?? bad;
  if (typeof number !== "number") return undefined;
  const sample = { atMs: Number(time), value: number };
  return typeof mark === "string" ? { ...sample, mark: markFrom(mark) } : sample;
}

function bucketOf([startMs, count, min, max, mean]: readonly unknown[]): Bucket {
  return { startMs: Number(startMs), count: Number(count), min: Number(min), max: Number(max), mean: Number(mean) };
}

function meanOf({ startMs, mean }: Bucket): Sample {
  return { atMs: startMs + middleMs, value: mean, meanOverMs: rollUpMs };
}

/** Without those that lie in a roll-up. */
function notIn(rolled: readonly Bucket[], samples: Sample[]): Sample[] {
  if (rolled.length === 0) return samples;
  const starts = new Set(rolled.map(({ startMs }) => startMs));
  return samples.filter(({ atMs }) => !starts.has(rollUpStart(atMs)));
}

function markedCoarse(buckets: Bucket[], bucketMs: number): Bucket[] {
  return bucketMs < rollUpMs ? buckets.map((bucket) => ({ ...bucket, isCoarse: true })) : buckets;
}

/** Spans that hold instants, none of which is far from the next. */
function stretchesOf(instantsMs: number[]): { fromMs: number; toMs: number }[] {
  const stretches: { fromMs: number; toMs: number }[] = [];
  for (const atMs of instantsMs.sort((a, b) => a - b)) {
    const last = stretches.at(-1);
    if (last !== undefined && atMs - last.toMs < togetherMs) last.toMs = atMs + 1;
    else stretches.push({ fromMs: atMs, toMs: atMs + 1 });
  }
  return stretches;
}
