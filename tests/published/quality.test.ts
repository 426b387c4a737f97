/**
 * The judgement of readings on series that were recorded by others. Skipped where the two files are not at hand:
 *
 * - occupancy_datatraining.csv: temperature and humidity of an office, once a minute for six days (L. M. Candanedo,
 *   V. Feldheim, Energy and Buildings 112 (2016) 28–39; UCI Machine Learning Repository, "Occupancy Detection", CC BY 4.0).
 * - singlehop_5s_labelled.csv: four wireless sensors, two indoors and two outdoors, every 5 s for six to seven hours; steam of
 *   a kettle at two of them is labelled (S. Suthaharan et al., "Labelled data collection for anomaly detection in wireless
 *   sensor networks", ISSNIP 2010, doi 10.1109/ISSNIP.2010.5706782).
 *
 * Both references are given from memory.
 */
import { existsSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { parse } from "csv-parse/sync";
import { describe, expect, it } from "vitest";
import { QualityCheck } from "../../collector/quality.ts";
import type { Mark } from "../../collector/readings.ts";

const folder = resolve(import.meta.dirname, "../../../shared/data");
const office = resolve(folder, "occupancy_datatraining.csv");
const motes = resolve(folder, "singlehop_5s_labelled.csv");
const isAtHand = existsSync(office) && existsSync(motes);
if (!isAtHand) console.warn("the recorded series are not at hand: the checks of quality on them are skipped");

type Judged = "air-temperature" | "air-humidity";

interface Row {
  atMs: number;
  value: number;
  isLabelled: boolean;
}

function officeRows(quantity: Judged): Row[] {
  // Its header lacks the name of the first column.
  const rows: string[][] = parse(readFileSync(office), { from_line: 2 });
  return rows.map((row) => ({
    atMs: Date.parse(`${row[1]}Z`.replace(" ", "T")),
    value: Number(row[quantity === "air-temperature" ? 2 : 3]),
    isLabelled: false,
  }));
}

function moteRows(mote: number, quantity: Judged): Row[] {
  const rows: Record<string, string>[] = parse(readFileSync(motes), { columns: true });
  return rows
    .filter((row) => row.mote_id === String(mote))
    .map((row) => ({
      atMs: 5000 * Number(row.reading),
      value: Number(quantity === "air-temperature" ? row.temperature : row.humidity),
      isLabelled: row.label === "1",
    }));
}

function judged(quantity: Judged, rows: readonly Row[]): (Mark | undefined)[] {
  const check = new QualityCheck(quantity, {});
  return rows.map(({ atMs, value }) => check.judge(atMs, value));
}

const quantities = ["air-temperature", "air-humidity"] as const;
const soundSeries = quantities.flatMap((quantity) => [
  [quantity, "office", () => officeRows(quantity)] as const,
  ...[1, 2, 3, 4].map((mote) => [quantity, `mote ${mote}`, () => moteRows(mote, quantity)] as const),
]);

/** How many of the labelled readings of steam get a mark, and how many there are. */
function steam(quantity: Judged): { marked: number; labelled: number } {
  const found = { marked: 0, labelled: 0 };
  for (const mote of [1, 4]) {
    const rows = moteRows(mote, quantity);
    for (const [n, mark] of judged(quantity, rows).entries()) {
      if (rows[n]?.isLabelled !== true) continue;
      found.labelled++;
      if (mark !== undefined) found.marked++;
    }
  }
  return found;
}

describe.skipIf(!isAtHand)("on recorded series", () => {
  it.each(soundSeries)("finds nothing against sound readings: %s, %s", (quantity, _name, read) => {
    const rows = read();
    expect(rows.length).toBeGreaterThan(4000);
    const marks = judged(quantity, rows);
    expect(marks.filter((mark, n) => mark !== undefined && rows[n]?.isLabelled === false)).toEqual([]);
  });

  it.each(soundSeries)("finds the value of a lost supply put in, and nothing else: %s, %s", (quantity, _name, read) => {
    const rows = read().filter((row) => !row.isLabelled);
    const isPutIn = (n: number) => n % 50 === 49;
    const lost = quantity === "air-temperature" ? 85 : 100;
    const marks = judged(
      quantity,
      rows.map((row, n) => (isPutIn(n) ? { ...row, value: lost } : row)),
    );
    const isWrong = (mark: Mark | undefined, n: number) => mark?.why !== (isPutIn(n) ? "spike" : undefined);
    expect(marks.flatMap((mark, n) => (isWrong(mark, n) ? [{ n, mark }] : []))).toEqual([]);
  });

  it.each(soundSeries)("finds a sensor that froze, after hours: %s, %s", (quantity, _name, read) => {
    const rows = read();
    const from = Math.floor(rows.length / 5);
    const frozen = rows.map((row, n) => (n > from ? { ...row, value: rows[from]?.value ?? Number.NaN } : row));
    const marks = judged(quantity, frozen);
    const first = marks.findIndex((mark) => mark !== undefined);
    const afterMinutes = ((rows[first]?.atMs ?? Number.NaN) - (rows[from]?.atMs ?? Number.NaN)) / 60_000;
    const inMinutes = quantity === "air-temperature" ? 240 : 120;
    // Sooner by as long as the value had stood before it froze.
    expect(afterMinutes).toBeGreaterThan(inMinutes - 77);
    expect(afterMinutes).toBeLessThan(inMinutes + 1);
    expect(new Set(marks.slice(first).map((mark) => mark?.why))).toEqual(new Set(["stuck"]));
  });

  it.each([
    ["air-temperature", 0.1],
    ["air-temperature", 0.0625],
    ["air-humidity", 0.1],
  ] as const)("finds nothing against a sensor of the office that reads in steps: %s, %d", (quantity, step) => {
    const rows = officeRows(quantity).map((row) => ({ ...row, value: Math.round(row.value / step) * step }));
    expect(judged(quantity, rows).filter((mark) => mark !== undefined)).toEqual([]);
  });

  // Steam is no fault of a sensor: its onset is marked, and then believed, as a door or another car would be.
  it("marks the onset of steam, not the whole of it", () => {
    expect(steam("air-temperature")).toEqual({ marked: 15, labelled: 149 });
    expect(steam("air-humidity")).toEqual({ marked: 6, labelled: 149 });
  });
});
