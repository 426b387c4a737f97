/** What to ask of a Modbus device, and what its registers mean. Pure: no ports, no time. */
import type { ModbusSettings } from "../settings.ts";
import type { Measurement } from "./source.ts";

export type ModbusDevice = ModbusSettings["devices"][number];
export type ModbusRegister = ModbusDevice["registers"][number];

/** Registers that stand one after the other, read with one question. Addresses are those on the wire, from 0. */
export interface Run {
  address: number;
  /** How many registers of 16 bits. */
  count: number;
  /** Each with its place in the run, from 0. */
  registers: { register: ModbusRegister; at: number }[];
}

/** Most registers one question may read (Modbus application protocol specification V1.1b3, §6.3 and §6.4). */
const longestRun = 125;
const highestAddress = 0xff_ff;
/** int16 values that many devices give while their sensor is broken or missing (common practice). */
const faultSigns = [0x80_00, 0x7f_ff];
/** A float32 holds about seven decimal digits; what a scale adds behind them is rounding. */
const digits = 7;

const widthOf = ({ type }: ModbusRegister) => (type === "float32" ? 2 : 1);

/**
 * The questions that read all registers of the device, in the order of addresses.
 * Throws a RangeError that names the register when an address is none on the wire: 0 where addresses count from 1,
 * or beyond 65535.
 */
export function runsOf(device: ModbusDevice): Run[] {
  const { unit, addressBase, registers } = device;
  const placed = registers
    .map((register) => ({ register, address: register.address - addressBase }))
    .sort((one, other) => one.address - other.address);
  const runs: Run[] = [];
  for (const { register, address } of placed) {
    if (address < 0) throw new RangeError(`unit ${unit}: there is no register 0 where addressBase is 1`);
    const end = address + widthOf(register);
    if (end > highestAddress + 1) throw new RangeError(`unit ${unit}: register ${register.address} is beyond the last`);
    const run = runs.at(-1);
    if (run !== undefined && address <= run.address + run.count && end - run.address <= longestRun) {
      run.registers.push({ register, at: address - run.address });
      run.count = Math.max(run.count, end - run.address);
    } else {
      runs.push({ address, count: end - address, registers: [{ register, at: 0 }] });
    }
  }
  return runs;
}

/** What the words of a run's answer say. `bad` holds the registers whose value is no measurement. */
export function valuesOf(run: Run, words: readonly number[]): { measurements: Measurement[]; bad: ModbusRegister[] } {
  const measurements: Measurement[] = [];
  const bad: ModbusRegister[] = [];
  for (const { register, at } of run.registers) {
    const value = valueIn(register, words.slice(at, at + widthOf(register)));
    const { sensor, quantity } = register;
    if (Number.isNaN(value)) bad.push(register);
    else measurements.push({ sensor, quantity, value });
  }
  return { measurements, bad };
}

/**
 * The value in one or two register words (0 to 65535), in the quantity's unit, to seven digits.
 * NaN for what is no measurement: a float that is not finite, an int16 that stands for a broken sensor, a missing word.
 */
export function valueIn(register: ModbusRegister, words: readonly number[]): number {
  const value = numberIn(register, words) * register.scale;
  return Number.isFinite(value) ? Number(value.toPrecision(digits)) : Number.NaN;
}

function numberIn({ type, wordOrder }: ModbusRegister, words: readonly number[]): number {
  const [first = Number.NaN, second = Number.NaN] = words;
  switch (type) {
    case "uint16":
      return first;
    case "int16":
      if (faultSigns.includes(first)) return Number.NaN;
      return first > 0x7f_ff ? first - 0x1_00_00 : first;
    case "float32": {
      if (words.length < 2) return Number.NaN;
      const view = new DataView(new ArrayBuffer(4));
      const [high, low] = wordOrder === "high-first" ? [first, second] : [second, first];
      view.setUint16(0, high);
      view.setUint16(2, low);
      return view.getFloat32(0);
    }
  }
}
