import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { publishedProbeTexts } from "../../tests/faults/probe-texts.ts";
import { crc8OneWire, parseTemperature, parseW1Slave } from "./one-wire-text.ts";

const hex = (text: string) => Buffer.from(text.replaceAll(" ", ""), "hex");

const resultOf = (reading: ReturnType<typeof parseW1Slave>) => ("celsius" in reading ? reading.celsius : reading.fault);
const room = "9d 01 4b 46 7f ff 03 10 57 : crc=57 YES\n9d 01 4b 46 7f ff 03 10 57 t=25812\n";
const powerOn = "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n";

describe("crc8OneWire", () => {
  it.each([
    ["the ROM number of the bus maker's application note 27", "02 1c b8 01 00 00 00", 0xa2],
    ["the scratchpad after power-on", "50 05 4b 46 7f ff 0c 10", 0x1c],
    ["the catalogue's check string 123456789", "31 32 33 34 35 36 37 38 39", 0xa1],
    ["the device name in an example of RFC 8428", "10 e2 07 3a 01 08 00", 0x63],
  ])("gives the check of %s", (_what, bytes, check) => {
    expect(crc8OneWire(hex(bytes))).toBe(check);
  });
});

describe("parseW1Slave", () => {
  it.each(publishedProbeTexts)("reads or refuses %s as it should: %j → %s", (_what, text, result) => {
    expect(resultOf(parseW1Slave(text, undefined))).toBe(result);
  });

  it.each([
    ["nothing", ""],
    ["half a line", room.slice(0, 30)],
    ["the first line alone", room.slice(0, room.indexOf("\n") + 1)],
    ["no number after t=", room.replace("t=25812", "t=")],
    ["two lines that differ though the check is right", room.replace("\n9d", "\n9e")],
    ["ten bytes", room.replaceAll("9d 01", "00 9d 01")],
  ])("refuses %s as a cut line", (_what, text) => {
    expect(parseW1Slave(text, 25)).toEqual({ fault: "cut line" });
  });

  it("demands the kernel's YES, though the check is right", () => {
    expect(parseW1Slave(room.replace("YES", "NO"), 25)).toEqual({ fault: "wrong check" });
  });

  it("computes the check itself, and does not take the kernel's YES for it", () => {
    expect(parseW1Slave(room.replaceAll("9d 01", "9c 01"), 25)).toEqual({ fault: "wrong check" });
  });

  it("takes 85 °C for a measurement within 10 K of the reading before only", () => {
    expect(parseW1Slave(powerOn, 75)).toEqual({ celsius: 85 });
    expect(parseW1Slave(powerOn, 95)).toEqual({ celsius: 85 });
    expect(parseW1Slave(powerOn, 74.9)).toEqual({ fault: "power-on value" });
    expect(parseW1Slave(powerOn, 95.1)).toEqual({ fault: "power-on value" });
    expect(parseW1Slave(powerOn, Number.NaN)).toEqual({ fault: "power-on value" });
  });

  it("reads any scratchpad with its right check, and no longer when any one byte of it has changed", () => {
    const bytes = fc.uint8Array({ minLength: 8, maxLength: 8 }).filter((some) => some.some((byte) => byte !== 0));
    fc.assert(
      fc.property(bytes, fc.nat(8), fc.integer({ min: 1, max: 255 }), (eight, place, flip) => {
        const nine = Buffer.from([...eight, crc8OneWire(eight)]);
        const line = (some: Buffer) => some.toString("hex").replace(/../g, "$& ");
        const text = () => `${line(nine)}: crc=${nine.toString("hex", 8)} YES\n${line(nine)}t=21500\n`;
        expect(parseW1Slave(text(), undefined)).toEqual({ celsius: 21.5 });
        nine[place] = (nine[place] ?? 0) ^ flip;
        expect(parseW1Slave(text(), undefined)).toHaveProperty("fault");
      }),
    );
  });

  it("never throws and never invents a reading, whatever bytes come", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
        const text = Buffer.from(bytes).toString("latin1");
        expect(parseW1Slave(text, 20)).toEqual({ fault: "cut line" });
      }),
    );
  });
});

describe("parseTemperature", () => {
  it.each([
    ["23500\n", 23.5],
    ["-10125\n", -10.125],
    ["0\n", 0],
    ["85000\n", "power-on value"],
    ["127937\n", "too little power"],
    ["127940\n", "too little power"],
    ["", "cut line"],
    ["\n", "cut line"],
    ["23.5\n", "cut line"],
    ["cat: temperature: Input/output error", "cut line"],
  ])("reads or refuses %j as it should: %s", (text, result) => {
    expect(resultOf(parseTemperature(text, undefined))).toBe(result);
  });
});
