import { describe, expect, it } from "vitest";
import { besideRaw, fileFor, inOwnUnit, kernelNumber, rightOffset } from "./kernel-text.ts";

describe("kernelNumber", () => {
  it.each([
    ["23500\n", 23500],
    ["62600\n", 62600],
    ["-1500\n", -1500],
    ["99.123456789\n", 99.123456789],
    ["-13657.500000\n", -13657.5],
  ])("reads %j", (text, number) => {
    expect(kernelNumber(text)).toEqual({ number });
  });

  // Empty reads and shell texts published with public projects: what a script reads where the chip did not answer.
  it.each([
    ["", "empty read"],
    ["\n", "empty read"],
    ["cat: in_temp_input: Input/output error", "no number"],
    ["cat: in_temp_input: Connection timed out", "no number"],
    ["dht11 dht11@4: Only 0 signal edges detected", "no number"],
    ["nan\n", "no number"],
    ["23500 62600\n", "no number"],
  ])("refuses %j: %s", (text, fault) => {
    expect(kernelNumber(text)).toEqual({ fault });
  });
});

describe("inOwnUnit", () => {
  // Linux kernel documentation, sysfs-bus-iio and hwmon/sysfs-interface: milli-degrees, milli-percent, kilopascal.
  it.each([
    ["air-temperature", 23500, 23.5],
    ["panel-temperature", -1500, -1.5],
    ["air-humidity", 62600, 62.6],
    ["air-pressure", 101.325, 101_325],
    ["air-speed", 0.3, 0.3],
  ] as const)("gives %s in its own unit: %d → %d", (quantity, processed, value) => {
    expect(inOwnUnit(quantity, processed)).toBeCloseTo(value, 9);
  });
});

describe("rightOffset", () => {
  // Linux kernel documentation, sysfs-bus-iio: processed = (raw + offset) × scale; raw 3AF7 of an MLX90614 is 28.75 °C.
  it.each([-13657.5, 13657.5])("makes 28.75 °C of the MLX90614's raw 3AF7 with the offset shown as %d", (offset) => {
    expect(inOwnUnit("panel-temperature", (0x3af7 + rightOffset("mlx90614", offset)) * 20)).toBe(28.75);
  });

  it("leaves the offset of any other chip as it is", () => {
    expect(rightOffset("hdc100x", 40)).toBe(40);
  });
});

describe("fileFor", () => {
  it("takes the usual file of a quantity, the best of those that are there", () => {
    const has = new Set(["in_temp_raw", "in_temp_input", "in_pressure_input", "in_temp_ambient_raw"]);
    expect(fileFor("air-temperature", undefined, has)).toBe("in_temp_input");
    expect(fileFor("air-pressure", undefined, has)).toBe("in_pressure_input");
    expect(fileFor("air-humidity", undefined, has)).toBeUndefined();
    expect(fileFor("air-speed", undefined, has)).toBeUndefined();
  });

  it("takes the object, not the chip itself, for an infrared chip's panel", () => {
    const has = new Set(["in_temp_ambient_raw", "in_temp_object_raw"]);
    expect(fileFor("panel-temperature", undefined, has)).toBe("in_temp_object_raw");
    expect(fileFor("air-temperature", undefined, has)).toBe("in_temp_ambient_raw");
  });

  it("takes the named file only, where one is named", () => {
    expect(fileFor("air-temperature", "temp2_input", new Set(["temp1_input", "temp2_input"]))).toBe("temp2_input");
    expect(fileFor("air-temperature", "temp2_input", new Set(["temp1_input"]))).toBeUndefined();
  });
});

describe("besideRaw", () => {
  it("prefers the channel's own scale to a shared one", () => {
    const has = new Set(["in_temp_scale", "in_temp_ambient_scale", "in_temp_offset"]);
    expect(besideRaw("in_temp_ambient_raw", "scale", has)).toBe("in_temp_ambient_scale");
    expect(besideRaw("in_temp_object_raw", "scale", has)).toBe("in_temp_scale");
    expect(besideRaw("in_temp_raw", "offset", has)).toBe("in_temp_offset");
    expect(besideRaw("in_pressure_raw", "offset", has)).toBeUndefined();
  });
});
