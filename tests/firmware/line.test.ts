/** The firmware's lines, made by MicroPython and read by the collector's own parser. */
import fc from "fast-check";
import { beforeAll, describe, expect, it } from "vitest";
import { quantityNames } from "../../collector/readings.ts";
import { longestLineBytes, parseLine } from "../../collector/sources/serial-line.ts";
import { type FakeBoard, fakeBoard } from "./fake-board.ts";

let board: FakeBoard;
beforeAll(async () => {
  board = await fakeBoard();
  board.run("from line import QUANTITIES, crc8, line_of");
});

const sensors = new Set(["bay-2"]);
const linesOf = (values: string) => board.run(`print(line_of("bay-2", ${values}), end="")`);

describe("crc8 of the firmware", () => {
  it("gives the check values of the catalogues: F7 for CRC-8/NRSC-5, F4 for CRC-8/SMBUS, and BE EF → 92 of a data sheet", () => {
    expect(
      board.run('print("%02X %02X %02X" % (crc8(b"123456789"), crc8(b"123456789", 7, 0), crc8(b"\\xbe\\xef")))'),
    ).toEqual(["F7 F4 92"]);
  });

  it("gives the check of the line that docs/serial-line.md prints", () => {
    expect(board.run('print("%02X" % crc8(b"bay-2 air-temperature=21.50 air-humidity=54.2"))')).toEqual(["A2"]);
  });
});

describe("line_of", () => {
  it("knows the collector's quantities, all of them", () => {
    expect(board.run('print(" ".join(QUANTITIES))')).toEqual([quantityNames.join(" ")]);
  });

  it("writes lines that the collector reads back to a hundredth, whatever the values", () => {
    const value = fc.oneof(
      fc.double({ min: -999_999, max: 999_999, noNaN: true }),
      fc.constantFrom(0, -0, -0.004, -40, 85, 150, 100, 101_325, -273.15, 999_999.99, -999_999.99),
    );
    const pairs = fc.uniqueArray(fc.tuple(fc.constantFrom(...quantityNames), value), {
      minLength: 1,
      selector: ([quantity]) => quantity,
    });
    fc.assert(
      fc.property(pairs, (values) => {
        const list = values.map(([quantity, number]) => `("${quantity}", ${number})`).join(", ");
        const [line = ""] = linesOf(`(${list},)`);
        const { readings, faults } = parseLine(line, sensors);
        expect(faults).toEqual([]);
        expect(readings.map(({ quantity }) => quantity)).toEqual(values.map(([quantity]) => quantity));
        for (const [index, reading] of readings.entries()) {
          expect(Math.abs(reading.value - (values[index]?.[1] ?? Number.NaN))).toBeLessThan(0.005_000_01);
        }
      }),
      { numRuns: 300 },
    );
  });

  it("keeps the longest line there can be within what the collector takes", () => {
    const [line = ""] = board.run(
      'print(line_of("b" * 63, [(quantity, -999999.99) for quantity in QUANTITIES]), end="")',
    );
    expect(line.length).toBeGreaterThan(190);
    expect(line.length).toBeLessThanOrEqual(longestLineBytes);
    expect(parseLine(line, new Set(["b".repeat(63)])).readings).toHaveLength(quantityNames.length);
  });

  it.each(['float("nan")', 'float("inf")', 'float("-inf")', "1e6", "-1e30"])(
    "leaves out %s and keeps the value beside it",
    (none) => {
      const [line = ""] = linesOf(`(("air-temperature", ${none}), ("air-humidity", 50.0))`);
      expect(parseLine(line, sensors)).toEqual({
        readings: [{ sensor: "bay-2", quantity: "air-humidity", value: 50 }],
        faults: [],
      });
    },
  );

  it("gives no line without a value", () => {
    expect(board.run('print(line_of("bay-2", (("air-temperature", float("nan")),)), line_of("bay-2", ()))')).toEqual([
      "None None",
    ]);
  });
});
