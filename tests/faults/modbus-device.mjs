/**
 * Modbus transmitters on a serial bus, for tests: a program of its own, written from the Modbus over serial line
 * specification V1.02 and sharing no code with the collector. Argument: the bus's end of a pseudo-terminal.
 *
 * Takes one JSON object a line, which replaces what a unit is:
 *   { unit, functionCode, registers: { <address>: <word> }, how, code, lateMs: { <address>: <ms> } }
 * `how` it behaves: answer, silence, exception (with `code`), wrong check, truncated, late (by `lateMs`), noise before,
 * foreign unit, pieces, too many. Prints { set: unit } when done, and { heard: hex } for every request.
 */
import { createReadStream, openSync, writeSync } from "node:fs";
import { createInterface } from "node:readline";
import { setTimeout as delay } from "node:timers/promises";

const path = process.argv[2];
const out = openSync(path, "w");
const units = new Map();
const say = (what) => console.log(JSON.stringify(what));

/** The check by the table-less algorithm of the specification's §6.2.2: low byte first. */
function withCheck(bytes) {
  let register = 0xffff;
  for (const byte of bytes) {
    register ^= byte;
    for (let shift = 0; shift < 8; shift += 1) {
      const carry = register % 2;
      register = Math.floor(register / 2);
      if (carry === 1) register ^= 0xa001;
    }
  }
  return [...bytes, register % 256, Math.floor(register / 256)];
}

function answerOf(unit, functionCode, address, count) {
  const device = units.get(unit);
  if (functionCode !== (device.functionCode ?? 4)) return withCheck([unit, functionCode + 0x80, 1]);
  const words = [];
  for (let n = address; n < address + count; n += 1) {
    const word = device.registers[n];
    if (word === undefined) return withCheck([unit, functionCode + 0x80, 2]);
    words.push(word);
  }
  return withCheck([unit, functionCode, 2 * count, ...words.flatMap((word) => [Math.floor(word / 256), word % 256])]);
}

async function handle(request) {
  const [unit, functionCode, addressHigh, addressLow, countHigh, countLow] = request;
  const device = units.get(unit);
  if (device === undefined) return;
  const address = addressHigh * 256 + addressLow;
  const count = countHigh * 256 + countLow;
  const answer = answerOf(unit, functionCode, address, count);
  const send = (bytes) => writeSync(out, Uint8Array.from(bytes));
  switch (device.how) {
    case "silence":
      return;
    case "exception":
      return send(withCheck([unit, functionCode + 0x80, device.code]));
    case "wrong check":
      return send([...answer.slice(0, -1), answer.at(-1) ^ 1]);
    case "truncated":
      return send(answer.slice(0, -1));
    case "late":
      await delay(device.lateMs[address]);
      return send(answer);
    case "noise before":
      return send([0xff, 0x00, unit, functionCode, 2 * count, 0x9c, ...answer]);
    case "foreign unit":
      return send(withCheck([unit + 1, ...answer.slice(1, -2)]));
    case "pieces":
      for (const byte of answer) {
        send([byte]);
        await delay(5);
      }
      return;
    case "too many":
      return send(withCheck([unit, functionCode, 2 * count + 2, ...answer.slice(3, -2), 0, 0]));
    default:
      return send(answer);
  }
}

createInterface(process.stdin).on("line", (line) => {
  const device = JSON.parse(line);
  units.set(device.unit, device);
  say({ set: device.unit });
});

let heard = [];
let heardAt = 0;
createReadStream(path)
  .on("data", (chunk) => {
    // A pause ends a frame.
    if (performance.now() - heardAt > 20) heard = [];
    heardAt = performance.now();
    heard.push(...chunk);
    if (heard.length < 8) return;
    const request = heard;
    heard = [];
    say({ heard: Buffer.from(request).toString("hex") });
    const isWhole = request.length === 8 && withCheck(request.slice(0, 6)).every((byte, n) => byte === request[n]);
    if (isWhole) void handle(request);
  })
  .on("error", () => process.exit(0));
say({ ready: true });
