/**
 * What the kernel's files of a sensor chip mean. Sources: Linux kernel documentation, Documentation/ABI/testing/sysfs-bus-iio
 * (milli-degrees Celsius, milli-percent, kilopascal; processed value = (raw + offset) × scale) and
 * Documentation/hwmon/sysfs-interface.rst (milli-degrees Celsius, milli-percent). See docs/kernel-sensors.md.
 */
import type { Quantity } from "../readings.ts";
import { parseDecimal } from "./decimal.ts";

/** The files in which a quantity usually stands, the best first. Air speed has none. */
export const usualFiles: Record<Quantity, readonly string[]> = {
  "air-temperature": ["in_temp_input", "temp1_input", "in_temp_raw", "in_temp_ambient_input", "in_temp_ambient_raw"],
  "panel-temperature": ["in_temp_object_input", "in_temp_object_raw", "in_temp_input", "temp1_input", "in_temp_raw"],
  "air-humidity": ["in_humidityrelative_input", "humidity1_input", "in_humidityrelative_raw"],
  "air-pressure": ["in_pressure_input", "in_pressure_raw"],
  "air-speed": [],
};

/** The file among those that a chip has from which to read the quantity: `named` where that is set, else the usual one. */
export function fileFor(quantity: Quantity, named: string | undefined, has: ReadonlySet<string>): string | undefined {
  return (named === undefined ? usualFiles[quantity] : [named]).find((file) => has.has(file));
}

/** The number a file says. */
export function kernelNumber(text: string): { number: number } | { fault: "empty read" | "no number" } {
  if (text.trim() === "") return { fault: "empty read" };
  const number = parseDecimal(text);
  return Number.isNaN(number) ? { fault: "no number" } : { number };
}

/**
 * The file beside a raw one that says its scale or offset: the channel's own (`in_temp_object_scale`), or one that
 * several share (`in_temp_scale`).
 */
export function besideRaw(rawFile: string, part: "scale" | "offset", has: ReadonlySet<string>): string | undefined {
  const words = rawFile.split("_").slice(0, -1);
  for (let count = words.length; count >= 2; count -= 1) {
    const file = [...words.slice(0, count), part].join("_");
    if (has.has(file)) return file;
  }
  return undefined;
}

/**
 * The offset with its right sign. Kernels before commit 01b944fe showed the MLX90614's with a plus, which would put
 * every reading above 470 °C; the chip's zero is 13657.5 steps of 0.02 K below 0 °C.
 */
export function rightOffset(chip: string, offset: number): number {
  return chip === "mlx90614" && offset > 0 ? -offset : offset;
}

/** In the quantity's own unit, from the unit in which the kernel says it. Air speed is taken as m/s. */
export function inOwnUnit(quantity: Quantity, processed: number): number {
  switch (quantity) {
    case "air-temperature":
    case "panel-temperature":
    case "air-humidity":
      return processed / 1000;
    case "air-pressure":
      return processed * 1000;
    case "air-speed":
      return processed;
  }
}
