/** The text protocol of a serial link, see docs/serial-line.md: one line, one sensor, a check at its end. */
import type { Quantity } from "../readings.ts";
import { quantityNames } from "../readings.ts";
import { parseDecimal } from "./decimal.ts";
import type { Measurement } from "./source.ts";

/** Longest line, without its end. */
export const longestLineBytes = 256;

/**
 * CRC-8 with polynomial 0x31, start value 0xFF, most significant bit first, nothing inverted at the end: the one that
 * humidity sensors with I²C commonly use, so that firmware has it at hand.
 * Checks: BE EF → 92 (printed in a sensor maker's data sheet); "123456789" → F7 (catalogue of CRC algorithms, CRC-8/NRSC-5).
 */
export function crc8(bytes: Uint8Array): number {
  let crc = 0xff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 0x80 ? ((crc << 1) ^ 0x31) & 0xff : (crc << 1) & 0xff;
  }
  return crc;
}

/** The line that says these values, with its check and line end. */
export function serialLine(sensor: string, values: readonly (readonly [Quantity, number])[]): string {
  const body = [sensor, ...values.map(([quantity, value]) => `${quantity}=${value}`)].join(" ");
  return `${body} crc=${hex(crc8(Buffer.from(body, "latin1")))}\n`;
}

export type LineFault = "noise" | "no check" | "wrong check" | "unknown sensor" | "unknown quantity" | "bad value";

export interface ParsedLine {
  readings: Measurement[];
  faults: LineFault[];
}

/** Reads one line without its end. A fault of the line as a whole gives no readings; one value's fault spares the others. */
export function parseLine(line: string, sensors: ReadonlySet<string>): ParsedLine {
  if (!/^[\x20-\x7e]*$/.test(line)) return { readings: [], faults: ["noise"] };
  const match = /^(?<body>.*) crc=(?<check>[0-9a-f]{2})$/i.exec(line);
  const body = match?.groups?.body;
  if (body === undefined) return { readings: [], faults: ["no check"] };
  if (hex(crc8(Buffer.from(body, "latin1"))) !== match?.groups?.check?.toUpperCase()) {
    return { readings: [], faults: ["wrong check"] };
  }
  const [sensor = "", ...fields] = body.split(" ");
  if (!sensors.has(sensor)) return { readings: [], faults: ["unknown sensor"] };
  const parsed: ParsedLine = { readings: [], faults: [] };
  for (const field of fields) {
    const [name = "", text = ""] = field.split("=", 2);
    const quantity = quantityNames.find((known) => known === name);
    const value = parseDecimal(text);
    if (quantity === undefined) parsed.faults.push("unknown quantity");
    else if (Number.isNaN(value)) parsed.faults.push("bad value");
    else parsed.readings.push({ sensor, quantity, value });
  }
  return parsed;
}

/** Cuts a stream of bytes into lines ended by LF or CRLF. Keeps at most one unfinished line. */
export class LineSplitter {
  #partial = "";
  #skipping = false;

  /** `overlong` counts lines beyond the limit; each is skipped up to its end. */
  push(chunk: Buffer): { lines: string[]; overlong: number } {
    const lines: string[] = [];
    let overlong = 0;
    const pieces = chunk.toString("latin1").split("\n");
    for (const [index, piece] of pieces.entries()) {
      const isEnded = index < pieces.length - 1;
      this.#partial += this.#skipping ? "" : piece;
      if (this.#partial.replace(/\r$/, "").length > longestLineBytes) {
        overlong += 1;
        this.#partial = "";
        this.#skipping = true;
      }
      if (!isEnded) continue;
      if (!this.#skipping) {
        const line = this.#partial.replace(/\r$/, "");
        if (line !== "") lines.push(line);
      }
      this.#partial = "";
      this.#skipping = false;
    }
    return { lines, overlong };
  }
}

function hex(byte: number): string {
  return byte.toString(16).toUpperCase().padStart(2, "0");
}
