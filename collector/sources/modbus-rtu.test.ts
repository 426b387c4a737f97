import { describe, expect, it } from "vitest";
import { answerIn, crc16, faultIn } from "./modbus-rtu.ts";

const bytes = (hex: string) => Buffer.from(hex.replaceAll(" ", ""), "hex");

describe("crc16", () => {
  it.each([
    // The check value of CRC-16/MODBUS over "123456789" in published catalogues of checks.
    ["31 32 33 34 35 36 37 38 39", 0x4b_37],
    // A request as public device manuals print it; on the wire the low byte comes first.
    ["01 03 00 00 00 02", 0x0b_c4],
    ["ea 03 03 ea 00 02", 0xa0_f2],
  ])("of %s", (hex, crc) => {
    expect(crc16(bytes(hex))).toBe(crc);
  });
});

const temperature = bytes("01 04 00 01 00 01 60 0a");
const both = bytes("01 03 00 00 00 02 c4 0b");
const humidity8 = bytes("08 04 00 02 00 01 90 93");

describe("answerIn", () => {
  it.each([
    // Requests and replies as documented by public device manuals; checks by the Modbus over serial line specification V1.02.
    ["a reply", temperature, "01 04 02 01 07 f9 62"],
    ["a reply of two registers", both, "01 03 04 01 11 02 72 2a 8f"],
    ["a reply of unit 8", humidity8, "08 04 02 1c d2 ed ac"],
    // Made for the purpose, with checks by the same specification.
    ["an exception", temperature, "01 84 02 c2 c1"],
  ])("finds %s", (_what, request, hex) => {
    expect(answerIn(bytes(hex), request)).toEqual(bytes(hex));
  });

  it.each([
    ["noise", "ff 00 9c 01"],
    ["noise that looks like the beginning of one", "01 04 02 55"],
    ["a cut one", "01 04 02 01 07 f9"],
    ["one with a wrong check", "01 04 02 01 07 f9 63"],
    ["another unit's", "08 04 02 1c d2 ed ac"],
    ["the echo of the request", "01 04 00 01 00 01 60 0a"],
  ])("finds the reply behind %s", (_what, hex) => {
    const reply = bytes("01 04 02 01 07 f9 62");
    expect(answerIn(Buffer.concat([bytes(hex), reply, bytes("00")]), temperature)).toEqual(reply);
  });

  it("finds nothing before the last byte has come", () => {
    const reply = bytes("01 03 04 01 11 02 72 2a 8f");
    for (let length = 0; length < reply.length; length += 1) {
      expect(answerIn(reply.subarray(0, length), both)).toBeUndefined();
    }
  });
});

describe("answerIn and faultIn", () => {
  it.each([
    ["silence", "", "no answer"],
    ["a truncated reply", "01 04 02 01 07 f9", "cut answer"],
    ["the first two bytes of a reply", "01 04", "cut answer"],
    ["a reply with one flipped bit in its check", "01 04 02 01 07 f9 63", "wrong check"],
    ["an exception with a wrong check", "01 84 02 c2 c0", "wrong check"],
    ["a reply of unit 8", "08 04 02 1c d2 ed ac", "another unit's answer"],
    ["noise and a reply of unit 8", "ff 08 04 02 1c d2 ed ac", "another unit's answer"],
    ["a reply of more registers than were asked for", "01 04 04 01 11 02 72 2b 38", "unfitting answer"],
    ["noise", "ff 00 9c 1b 0a 33", "noise"],
  ])("refuse %s: %s, %s", (_what, hex, fault) => {
    expect(answerIn(bytes(hex), temperature)).toBeUndefined();
    expect(faultIn(bytes(hex), temperature)).toBe(fault);
  });
});
