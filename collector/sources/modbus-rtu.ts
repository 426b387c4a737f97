/**
 * Where an answer stands among the bytes of a serial bus (Modbus over serial line specification V1.02, §2.5), for
 * modbus-serial, whose own serial port keeps what is left of a damaged answer in front of the next one.
 */
import { EventEmitter } from "node:events";
import type { SerialPort } from "serialport";

/** Unit, function code, count of data bytes; then the data and the check. */
const headLength = 3;
const checkLength = 2;
const exceptionLength = headLength + checkLength;
const exceptionBit = 0x80;
/** No answer is longer; more than that is noise, of which the last is kept. */
const longestFrame = 256;

/** The check of RTU frames over these bytes: CRC-16, polynomial 0xA001 reflected, start 0xFFFF (the same, §6.2.2). */
export function crc16(bytes: Uint8Array): number {
  let crc = 0xff_ff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >>> 1) ^ 0xa0_01 : crc >>> 1;
  }
  return crc;
}

const isFrame = (bytes: Buffer) =>
  crc16(bytes.subarray(0, -checkLength)) === bytes.readUInt16LE(bytes.length - checkLength);

/** Every place where an answer to the request begins, and its length once it is complete. */
function* beginnings(heard: Buffer, request: Buffer): Generator<{ from: number; length: number }> {
  const [unit = 0, functionCode = 0] = request;
  const dataLength = 2 * request.readUInt16BE(4);
  for (let from = 0; from + 1 < heard.length; from += 1) {
    if (heard[from] !== unit) continue;
    if (heard[from + 1] === (functionCode | exceptionBit)) yield { from, length: exceptionLength };
    if (heard[from + 1] !== functionCode) continue;
    // What is cut before its count may still be the beginning.
    if ((heard[from + 2] ?? dataLength) === dataLength) yield { from, length: exceptionLength + dataLength };
  }
}

/** The first whole answer to this request (function code 3 or 4) among the bytes heard, its check being right. */
export function answerIn(heard: Buffer, request: Buffer): Buffer | undefined {
  for (const { from, length } of beginnings(heard, request)) {
    const frame = heard.subarray(from, from + length);
    if (frame.length === length && isFrame(frame)) return frame;
  }
  return undefined;
}

export type RtuFault =
  | "no answer"
  | "wrong check"
  | "cut answer"
  | "another unit's answer"
  | "unfitting answer"
  | "noise";

/** What was wrong with the bytes heard in the time an answer to the request had, there being no right one. */
export function faultIn(heard: Buffer, request: Buffer): RtuFault {
  if (heard.length === 0) return "no answer";
  for (let from = 0; from + exceptionLength <= heard.length; from += 1) {
    const isException = ((heard[from + 1] ?? 0) & exceptionBit) !== 0;
    const length = exceptionLength + (isException ? 0 : (heard[from + 2] ?? 0));
    const frame = heard.subarray(from, from + length);
    if (frame.length === length && isFrame(frame))
      return frame[0] === request[0] ? "unfitting answer" : "another unit's answer";
  }
  const begun = [...beginnings(heard, request)];
  if (begun.length === 0) return "noise";
  return begun.some(({ from, length }) => from + length <= heard.length) ? "wrong check" : "cut answer";
}

/** An open serial port as modbus-serial expects one: takes a request, emits one whole answer as `data`. */
export class RtuPort extends EventEmitter {
  readonly #line: SerialPort;
  #request: Buffer | undefined;
  #heard = Buffer.alloc(0);
  #heardAtMs = 0;

  constructor(line: SerialPort) {
    super();
    this.#line = line;
    line.on("data", (bytes: Buffer) => this.#take(bytes));
  }

  /** The line is open already. */
  open(callback: (error: null) => void): void {
    callback(null);
  }

  get isOpen(): boolean {
    return this.#line.isOpen;
  }

  /** Whatever was heard before a request is no answer to it. */
  write(request: Buffer): void {
    this.#heard = Buffer.alloc(0);
    this.#request = request;
    this.#line.write(request);
  }

  /** Ends the waiting for an answer that did not come, and says what came instead. */
  giveUp(): { kind: RtuFault; heard: string } {
    const [heard, request] = [this.#heard, this.#request];
    this.#request = undefined;
    const kind = request === undefined ? "no answer" : faultIn(heard, request);
    return { kind, heard: heard.toString("hex") };
  }

  /** Milliseconds since the last byte came. */
  quietMs(): number {
    return performance.now() - this.#heardAtMs;
  }

  #take(bytes: Buffer): void {
    this.#heardAtMs = performance.now();
    if (this.#request === undefined) return;
    this.#heard = Buffer.concat([this.#heard, bytes]).subarray(-longestFrame);
    const answer = answerIn(this.#heard, this.#request);
    if (answer === undefined) return;
    this.#request = undefined;
    this.emit("data", answer);
  }
}
