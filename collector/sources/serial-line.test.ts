import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { quantityNames } from "../readings.ts";
import { parseDecimal } from "./decimal.ts";
import { crc8, LineSplitter, parseLine, serialLine } from "./serial-line.ts";

const sensors = new Set(["bay-2"]);
const checked = (body: string) => `${body} crc=${crc8(Buffer.from(body)).toString(16).padStart(2, "0")}`;

describe("crc8", () => {
  it("gives the check value of the catalogued CRC-8 with polynomial 31 and start FF (CRC-8/NRSC-5: F7)", () => {
    expect(crc8(Buffer.from("123456789"))).toBe(0xf7);
  });

  it("gives the example printed in a humidity sensor's data sheet (BE EF: 92)", () => {
    expect(crc8(Uint8Array.from([0xbe, 0xef]))).toBe(0x92);
  });
});

describe("parseDecimal", () => {
  it.each([
    ["21.5", 21.5],
    ["-3", -3],
    [" 4. ", 4],
    [".5", 0.5],
    ["2.5e2", 250],
  ])("reads %j as %d", (text, value) => {
    expect(parseDecimal(text)).toBe(value);
  });

  it.each(["", " ", "nan", "NaN", "inf", "Infinity", "0x1F", "1,5", "1e999", "12 3", "--1"])(
    "reads %j as no number",
    (text) => {
      expect(parseDecimal(text)).toBeNaN();
    },
  );
});

describe("parseLine", () => {
  it("reads the documented example line", () => {
    expect(parseLine("bay-2 air-temperature=21.50 air-humidity=54.2 crc=A2", sensors)).toEqual({
      readings: [
        { sensor: "bay-2", quantity: "air-temperature", value: 21.5 },
        { sensor: "bay-2", quantity: "air-humidity", value: 54.2 },
      ],
      faults: [],
    });
  });

  it.each([
    ["noise", "bay-2 air-\u0000temperature=21 crc=00"],
    ["no check", "bay-2 air-temperature=21.50 air-hum"],
    ["no check", ""],
    ["wrong check", "bay-2 air-temperature=21.51 air-humidity=54.2 crc=A2"],
    ["unknown sensor", checked("bay-9 air-temperature=21.5")],
    ["unknown quantity", checked("bay-2 smell=3")],
    ["bad value", checked("bay-2 air-temperature=nan")],
    ["bad value", checked("bay-2 air-temperature")],
  ])("counts %s and gives no reading for %j", (fault, line) => {
    expect(parseLine(line, sensors)).toEqual({ readings: [], faults: [fault] });
  });

  it("keeps the good values of a line whose check is right beside a bad one", () => {
    const { readings, faults } = parseLine(checked("bay-2 air-temperature=nan air-humidity=50"), sensors);
    expect(readings).toEqual([{ sensor: "bay-2", quantity: "air-humidity", value: 50 }]);
    expect(faults).toEqual(["bad value"]);
  });

  it("reads back whatever serialLine writes, and refuses it with any one byte changed", () => {
    const value = fc.double({ min: -1e6, max: 1e6, noNaN: true });
    const values = fc.uniqueArray(fc.tuple(fc.constantFrom(...quantityNames), value), {
      minLength: 1,
      selector: ([quantity]) => quantity,
    });
    fc.assert(
      fc.property(values, fc.nat(), fc.integer({ min: 1, max: 127 }), (pairs, place, flip) => {
        const line = serialLine("bay-2", pairs).trimEnd();
        const { readings } = parseLine(line, sensors);
        expect(readings.map((reading) => [reading.quantity, reading.value])).toEqual(
          pairs.map(([quantity, number]) => [quantity, Object.is(number, -0) ? 0 : number]),
        );
        const bytes = Buffer.from(line);
        const body = line.lastIndexOf(" crc=");
        const index = place % body;
        bytes[index] = (bytes[index] ?? 0) ^ flip;
        expect(parseLine(bytes.toString("latin1"), sensors).readings).toEqual([]);
      }),
    );
  });

  it("never throws and never invents a reading, whatever bytes come", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
        expect(parseLine(Buffer.from(bytes).toString("latin1"), sensors).readings).toEqual([]);
      }),
    );
  });
});

describe("LineSplitter", () => {
  it("gives the same lines however the bytes are cut", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 40 }), { maxLength: 20 }), (cuts) => {
        const splitter = new LineSplitter();
        const text = Buffer.from("first line\r\nsecond\n\nthird half");
        const lines: string[] = [];
        let from = 0;
        for (const cut of [...cuts, text.length]) {
          lines.push(...splitter.push(text.subarray(from, from + cut)).lines);
          from += cut;
        }
        expect(lines).toEqual(["first line", "second"]);
      }),
    );
  });

  it("skips an overlong line up to its end, counts it once, and goes on with the next", () => {
    const splitter = new LineSplitter();
    let overlong = 0;
    const lines: string[] = [];
    for (const chunk of ["x".repeat(200), "x".repeat(200), "x".repeat(5000), "tail\ngood\n"]) {
      const pushed = splitter.push(Buffer.from(chunk));
      overlong += pushed.overlong;
      lines.push(...pushed.lines);
    }
    expect(overlong).toBe(1);
    expect(lines).toEqual(["good"]);
  });

  it("passes a line of exactly 256 bytes, with either line end, and none of 257", () => {
    expect(new LineSplitter().push(Buffer.from(`${"a".repeat(256)}\r\n`)).lines).toHaveLength(1);
    expect(new LineSplitter().push(Buffer.from(`${"a".repeat(256)}\n`)).lines).toHaveLength(1);
    expect(new LineSplitter().push(Buffer.from(`${"a".repeat(257)}\n`))).toEqual({ lines: [], overlong: 1 });
  });
});
