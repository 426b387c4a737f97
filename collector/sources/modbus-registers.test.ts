/** Encodings as public device manuals print them: there is no single convention, so each is shown with its own numbers. */
import { describe, expect, it } from "vitest";
import { type ModbusDevice, type ModbusRegister, runsOf, valueIn, valuesOf } from "./modbus-registers.ts";

const register = (changes: Partial<ModbusRegister> = {}): ModbusRegister => ({
  sensor: "bay-2",
  quantity: "air-temperature",
  address: 0,
  type: "int16",
  wordOrder: "high-first",
  scale: 1,
  ...changes,
});
const device = (addressBase: 0 | 1, ...registers: Partial<ModbusRegister>[]): ModbusDevice => ({
  unit: 3,
  functionCode: 4,
  addressBase,
  registers: registers.map(register),
});

describe("valueIn", () => {
  it.each<[string, Partial<ModbusRegister>, number[], number]>([
    // Source of the first four: replies documented by public device manuals.
    ["int16 in tenths", { scale: 0.1 }, [0x01_07], 26.3],
    ["int16 in hundredths", { scale: 0.01 }, [0x1c_d2], 73.78],
    ["int16 in tenths, another device", { scale: 0.1 }, [305], 30.5],
    ["a float32 of which the high word comes first", { type: "float32" }, [0x41_f4, 0x7a_e1], 30.56],
    ["the same with the low word first", { type: "float32", wordOrder: "low-first" }, [0x7a_e1, 0x41_f4], 30.56],
    // Two's complement by its definition.
    ["int16 below zero", { scale: 0.1 }, [0xff_33], -20.5],
    ["int16 below zero, of a reply made for the purpose", { scale: 0.1 }, [0xff_9b], -10.1],
    ["the lowest int16 that is a number", {}, [0x80_01], -32_767],
    ["the highest int16 that is a number", {}, [0x7f_fe], 32_766],
    ["uint16 where an int16 would be below zero", { type: "uint16", scale: 2 }, [0xc5_cd], 101_274],
    ["uint16 where an int16 would be a fault", { type: "uint16" }, [0x80_00], 32_768],
    // IEEE 754 binary32: sign 1, exponent 127 + 3, fraction 0x240000 / 2^23.
    ["a float32 below zero", { type: "float32" }, [0xc1_24, 0x00_00], -10.25],
    ["a float32 with a scale", { type: "float32", scale: 100 }, [0x44_7d, 0x50_00], 101_325],
    ["tenths without digits that only rounding made", { scale: 0.1 }, [3], 0.3],
    ["zero", {}, [0], 0],
  ])("reads %s", (_what, changes, words, value) => {
    expect(valueIn(register(changes), words)).toBe(value);
  });

  it.each<[string, Partial<ModbusRegister>, number[]]>([
    // Common practice: both stand for a broken or missing sensor.
    ["the int16 0x8000", { scale: 0.1 }, [0x80_00]],
    ["the int16 0x7FFF", { scale: 0.1 }, [0x7f_ff]],
    // IEEE 754: exponent all ones.
    ["a float32 that is NaN", { type: "float32" }, [0x7f_c0, 0x00_00]],
    ["a float32 that is infinite", { type: "float32" }, [0x7f_80, 0x00_00]],
    [
      "a float32 that is infinite below zero, low word first",
      { type: "float32", wordOrder: "low-first" },
      [0, 0xff_80],
    ],
    ["half a float32", { type: "float32" }, [0x41_f4]],
    ["no word at all", { type: "uint16" }, []],
  ])("refuses %s", (_what, changes, words) => {
    expect(valueIn(register(changes), words)).toBeNaN();
  });
});

describe("runsOf", () => {
  const spans = (one: ModbusDevice) => runsOf(one).map(({ address, count }) => [address, count]);

  it("asks for neighbours with one question, whatever their order in the shop file", () => {
    expect(spans(device(0, { address: 2 }, { address: 0, type: "float32" }, { address: 3 }))).toEqual([[0, 4]]);
  });

  it("asks across no gap: a device may refuse a register it does not have", () => {
    expect(spans(device(0, { address: 0 }, { address: 2 }, { address: 256, type: "float32" }))).toEqual([
      [0, 1],
      [2, 1],
      [256, 2],
    ]);
  });

  it("takes one off addresses that count from 1", () => {
    expect(spans(device(1, { address: 1 }, { address: 65_536 }))).toEqual([
      [0, 1],
      [65_535, 1],
    ]);
  });

  it("reads a register that two sensors share once", () => {
    expect(spans(device(0, { address: 7 }, { address: 7, sensor: "bay-3" }))).toEqual([[7, 1]]);
  });

  it("asks for no more than 125 registers at once", () => {
    const many = Array.from({ length: 130 }, (_, address) => ({ address }));
    expect(spans(device(0, ...many))).toEqual([
      [0, 125],
      [125, 5],
    ]);
  });

  it("refuses register 0 where addresses count from 1, naming the unit", () => {
    expect(() => runsOf(device(1, { address: 0 }))).toThrow(
      new RangeError("unit 3: there is no register 0 where addressBase is 1"),
    );
  });

  it.each<[string, Partial<ModbusRegister>]>([
    ["65536 counted from 0", { address: 65_536 }],
    ["the second half of a float32 at 65535", { address: 65_535, type: "float32" }],
  ])("refuses what is beyond the last register: %s", (_what, changes) => {
    expect(() => runsOf(device(0, changes))).toThrow(`unit 3: register ${changes.address} is beyond the last`);
  });
});

describe("valuesOf", () => {
  it("gives each register its own words, and names those without a valid value", () => {
    const humidity = { sensor: "bay-3", quantity: "air-humidity", scale: 0.1 } as const;
    const [run] = runsOf(
      device(1, { address: 5, type: "float32" }, { address: 7, ...humidity }, { address: 8, quantity: "air-speed" }),
    );
    if (run === undefined) expect.unreachable();
    expect(valuesOf(run, [0x41_f4, 0x7a_e1, 626, 0x80_00])).toEqual({
      measurements: [
        { sensor: "bay-2", quantity: "air-temperature", value: 30.56 },
        { sensor: "bay-3", quantity: "air-humidity", value: 62.6 },
      ],
      bad: [register({ address: 8, quantity: "air-speed" })],
    });
  });
});
