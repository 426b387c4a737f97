import Database from "better-sqlite3";
import { describe, expect, it } from "vitest";
import { type ChainRow, chainRows, checkChain } from "./chain.ts";
import { inventedSheets } from "./library.ts";
import { type By, canonical, hashOf, Log, logTables } from "./log.ts";

const by: By = { who: "Jürgen, invented", role: "painter", key: undefined };

function aLog(): ChainRow[] {
  const db = new Database(":memory:");
  db.exec(logTables);
  const log = new Log(db);
  const made = { atMs: Date.UTC(2026, 2, 2), clock: "synchronised" } as const;
  const [sheet] = inventedSheets();
  if (sheet === undefined) throw new Error("no sheets");
  const came = { carId: "car", job: "J-1 €", name: "Grey van", colour: "blue" as const, promisedAtMs: null };
  log.append("sheet-kept", { sheet }, { who: "Coatclock", role: "program" }, made);
  log.append("car-came", { ...came, panels: [{ name: "door", substrate: "steel" }], place: "yard", atMs: 1 }, by, made);
  log.append("promised", { carId: "car", was: null, became: 1e12 }, { ...by, key: "key" }, made);
  log.append("car-moved", { carId: "car", place: null, atMs: 2 }, by, made);
  log.append("mix-emptied", { id: "mix", atMs: 3 }, by, made);
  const rows = [...chainRows(db)];
  db.close();
  return rows;
}

const rows = aLog();
const faultsOf = (changed: readonly ChainRow[]) => [...checkChain(changed)].flatMap((link) => link.faults);
const textOf = (row: ChainRow | undefined) => Buffer.from(row?.entry ?? []).toString();
/** As someone would write it who knows how the log is made. */
const forged = (row: ChainRow, change: (entry: Record<string, unknown>) => Record<string, unknown>): ChainRow => {
  const entry = Buffer.from(canonical(change(JSON.parse(textOf(row)))));
  return { ...row, entry, hash: Buffer.from(hashOf(entry)) };
};
const withRow = (n: number, row: ChainRow) => rows.with(n - 1, row);
const rowOf = (n: number): ChainRow => rows[n - 1] as ChainRow;

describe("the chain of a log", () => {
  it("is sound as it was made", () => {
    expect(faultsOf(rows)).toEqual([]);
    expect(faultsOf([])).toEqual([]);
  });

  it.each(["entry", "hash"] as const)("shows a change of any byte of any %s", (column) => {
    let changes = 0;
    for (const row of rows) {
      for (let at = 0; at < row[column].length; at += 1) {
        for (const bits of [0x01, 0x20, 0x80]) {
          const bytes = Buffer.from(row[column]);
          bytes[at] = Number(bytes[at]) ^ bits;
          const faults = faultsOf(withRow(row.seq, { ...row, [column]: bytes }));
          if (!faults.some((fault) => fault.startsWith(`entry ${row.seq}: `))) {
            throw new Error(`not found: byte ${at} of the ${column} of entry ${row.seq}`);
          }
          changes += 1;
        }
      }
    }
    expect(changes).toBeGreaterThan(column === "hash" ? 900 : 5_000);
  });

  it.each(["entry", "hash"] as const)("shows a byte more or less in any %s", (column) => {
    for (const row of rows) {
      for (const bytes of [row[column].subarray(1), row[column].subarray(0, -1), Buffer.from([...row[column], 0x20])]) {
        expect(faultsOf(withRow(row.seq, { ...row, [column]: bytes }))).not.toEqual([]);
      }
    }
  });

  it("shows each entry that was taken out, but not the last: that needs a witness", () => {
    expect(faultsOf(rows.toSpliced(0, 1))).toEqual([
      "entry 2: entry 1 is missing",
      "entry 2: it does not say that it is the first",
    ]);
    expect(faultsOf(rows.toSpliced(1, 2))[0]).toBe("entry 4: entries 2 to 3 are missing");
    expect(faultsOf(rows.slice(0, -1))).toEqual([]);
  });

  it("shows an entry taken out and the others numbered anew", () => {
    const closed = rows.toSpliced(2, 1).map((row, index) => ({ ...row, seq: index + 1 }));
    expect(faultsOf(closed)).toContain("entry 3: it says that it is entry 4");
    const forgedRows = closed.map((row) => forged(row, (entry) => ({ ...entry, seq: row.seq })));
    expect(faultsOf(forgedRows)[0]).toMatch(/^entry \d: it was not made after entry \d as that stands here$/);
  });

  it("shows two entries that changed places", () => {
    const [three, four] = [rowOf(3), rowOf(4)];
    const swapped = rows.with(2, { ...four, seq: 3 }).with(3, { ...three, seq: 4 });
    expect(faultsOf(swapped)).toContain("entry 3: it says that it is entry 4");
  });

  it("shows an entry put between, with numbers and hash of its own as they should be", () => {
    const extra = forged(rowOf(3), (entry) => ({ ...entry, key: "other", previous: hashOf(rowOf(2).entry) }));
    const between = [...rows.slice(0, 2), extra, ...rows.slice(2).map((row) => ({ ...row, seq: row.seq + 1 }))];
    expect(faultsOf(between)).toContain("entry 4: it says that it is entry 3");
  });

  it("shows an entry that was changed with its hash, by the one after it", () => {
    const changed = withRow(
      3,
      forged(rowOf(3), (entry) => ({ ...entry, who: "another" })),
    );
    expect(faultsOf(changed)).toEqual(["entry 4: it was not made after entry 3 as that stands here"]);
  });

  it("shows an entry whose text says the same in another form, even with its hash", () => {
    const spaced = Buffer.from(textOf(rowOf(5)).replace('"seq":', '"seq": '));
    const row = { ...rowOf(5), entry: spaced, hash: Buffer.from(hashOf(spaced)) };
    expect(faultsOf(withRow(5, row))).toEqual(["entry 5: it is not in canonical form"]);
  });

  it("shows an entry that is none, even with its hash", () => {
    const last = rowOf(5);
    const unknown = forged(last, (entry) => ({ ...entry, kind: "cure-by-magic" }));
    expect(faultsOf(withRow(5, unknown))[0]).toMatch(/^entry 5: it has not the form of an entry \(kind: /);
    const bare = forged(last, (entry) => ({ ...entry, what: { id: "mix" } }));
    expect(faultsOf(withRow(5, bare))[0]).toMatch(/^entry 5: it has not the form of an entry \(atMs: /);
    const noText = Buffer.from([0xff, 0xfe]);
    const broken = { ...last, entry: noText, hash: Buffer.from(hashOf(noText)) };
    expect(faultsOf(withRow(5, broken))).toEqual(["entry 5: it is no JSON text"]);
  });
});
