import { describe, expect, it } from "vitest";
import { packetGauge } from "./packet-gauge.ts";

/** A packet of MQTT 3.1.1 §2.2 with a body of zeros. The lengths in bytes are those of the standard's table 2.4. */
function packet(length: number): Buffer {
  const header = [0x30];
  let rest = length;
  do {
    const digit = rest % 128;
    rest = Math.floor(rest / 128);
    header.push(rest > 0 ? digit | 128 : digit);
  } while (rest > 0);
  return Buffer.concat([Buffer.from(header), Buffer.alloc(length)]);
}

describe("the gauge of packets", () => {
  it("lets packets up to the limit pass, whole or in pieces", () => {
    const bytes = Buffer.concat([0, 1, 127, 128, 16_383, 16_384, 0, 20_000].map(packet));
    expect(packetGauge(20_000)(bytes)).toBe(true);
    for (const size of [1, 2, 3, 7, 1000]) {
      const take = packetGauge(20_000);
      const starts = Array.from({ length: Math.ceil(bytes.length / size) }, (_, n) => n * size);
      expect(starts.every((at) => take(bytes.subarray(at, at + size)))).toBe(true);
    }
  });

  it("stops at the header of a packet that is too long, before its body", () => {
    const take = packetGauge(20_000);
    expect(take(packet(20_000))).toBe(true);
    const header = packet(20_001).subarray(0, 4);
    expect([...header].map((byte) => take(Buffer.from([byte])))).toEqual([true, true, true, false]);
  });

  it("stops at a length of more than four bytes", () => {
    expect(packetGauge(1e9)(Buffer.from([0x30, 0x80, 0x80, 0x80, 0x80]))).toBe(false);
  });
});
