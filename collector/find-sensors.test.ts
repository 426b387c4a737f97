import { mkdirSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { parse } from "yaml";
import { publishedProbeTexts } from "../tests/faults/probe-texts.ts";
import { SysfsTree } from "../tests/faults/sysfs-tree.ts";
import { findSensors } from "./find-sensors.ts";
import type { SourceSettings } from "./settings.ts";
import { sourceSchema } from "./settings.ts";

let tree: SysfsTree;
beforeEach(() => {
  tree = new SysfsTree();
});
afterEach(() => tree.remove());

const find = () =>
  findSensors({ serialFolder: join(tree.folder, "dev"), oneWireFolder: tree.probes, sysFolder: tree.folder });

function sourcesIn(report: string): SourceSettings[] {
  const { sources } = parse(report.slice(report.indexOf("    sources:")).split("\n\n")[0] ?? "");
  return sources.map((source: unknown) => sourceSchema.parse(source));
}

/** A port of the machine and its names in the folders that keep them. */
function plugPort(port: string, names: Record<string, string>): void {
  writeFileSync(join(tree.folder, port), "");
  for (const [folder, name] of Object.entries(names)) {
    mkdirSync(join(tree.folder, "dev", folder), { recursive: true });
    symlinkSync(join(tree.folder, port), join(tree.folder, "dev", folder, name));
  }
}

describe("findSensors", () => {
  it("says what to look at where nothing is attached, and that Modbus does not show itself", async () => {
    const report = await find();
    expect(report).toContain("Serial ports\n  none\n");
    for (const words of ["dialout", "dtoverlay=w1-gpio", "dtoverlay=i2c-sensor,sht4x", "docs/modbus.md"]) {
      expect(report).toContain(words);
    }
    expect(report).not.toContain("sources:");
  });

  it("names a serial port by its device, and by its socket only where the device has no name", async () => {
    plugPort("ttyUSB0", { "by-id": "usb-Converter_1-if00", "by-path": "platform-1-usb-0:1" });
    plugPort("ttyUSB1", { "by-path": "platform-1-usb-0:2" });
    symlinkSync(join(tree.folder, "ttyUSB1"), join(tree.folder, "dev/by-path/platform-1-usbv2-0:2"));
    const report = await find();
    expect(report).not.toContain("usb-0:1");
    expect(sourcesIn(report)).toMatchObject([
      { kind: "serial", path: join(tree.folder, "dev/by-id/usb-Converter_1-if00"), sensors: ["serial-1"] },
      { kind: "serial", path: join(tree.folder, "dev/by-path/platform-1-usbv2-0:2"), sensors: ["serial-2"] },
    ]);
  });

  it("lists the probes with what they read now, also those that fail, and skips what is no thermometer", async () => {
    const [room, unplugged] = publishedProbeTexts;
    tree.plugProbe("28-0316a2790fff", "w1_bus_master1", { w1_slave: room?.[1] ?? "" });
    tree.plugProbe("3b-0000000000a1", "w1_bus_master1", { w1_slave: unplugged?.[1] ?? "" });
    tree.plugProbe("2d-0000000000b2", "w1_bus_master1", {});
    mkdirSync(join(tree.probes, "w1_bus_master1"));
    const report = await find();
    expect(report).toContain(
      "1-Wire probes\n  28-0316a2790fff  25.81 °C\n  2d-0000000000b2  skipped: no thermometer\n  3b-0000000000a1  unplugged\n\n",
    );
    expect(sourcesIn(report)).toMatchObject([
      {
        kind: "one-wire",
        probes: [
          { id: "28-0316a2790fff", sensor: "probe-1", quantity: "panel-temperature" },
          { id: "3b-0000000000a1", sensor: "probe-2", quantity: "panel-temperature" },
        ],
      },
    ]);
  });

  it("offers the kernel's chips that measure a room, with their values and addresses where needed, and skips the machine's own", async () => {
    const sht = { name: "sht4x\n", temp1_input: "23500\n", humidity1_input: "54200\n" };
    tree.plugChip(
      { shelf: "hwmon", number: 0, at: "thermal_zone0" },
      { name: "cpu_thermal\n", temp1_input: "61000\n" },
    );
    tree.plugChip({ shelf: "hwmon", number: 1, at: "nvme0" }, { name: "nvme\n", temp1_input: "40000\n" });
    tree.plugChip({ shelf: "hwmon", number: 2, at: "1-0068" }, { name: "ds3231\n", temp1_input: "30000\n" });
    tree.plugChip(
      { shelf: "hwmon", number: 5, at: "28-0316a2790fff" },
      { name: "w1_slave_temp\n", temp1_input: "1\n" },
    );
    tree.plugChip({ shelf: "hwmon", number: 3, at: "1-0045" }, sht);
    tree.plugChip({ shelf: "hwmon", number: 4, at: "1-0044" }, sht);
    const infrared = { name: "mlx90614\n", in_temp_ambient_raw: "14800\n", in_temp_object_raw: "15095\n" };
    const shared = { in_temp_scale: "20\n", in_temp_offset: "-13657.500000\n" };
    tree.plugChip({ shelf: "iio", number: 0, at: "1-005a" }, { ...infrared, ...shared });
    tree.plugChip({ shelf: "iio", number: 1, at: "1-0076" }, { name: "bme280\n", in_pressure_input: "99.5\n" });
    const report = await find();
    expect(report).toContain("mlx90614 at 1-005a  panel-temperature 28.75 °C\n");
    expect(report).toContain("sht4x at 1-0044  air-temperature 23.5 °C, air-humidity 54.2 %\n");
    expect(report).toContain("bme280 at 1-0076  air-pressure 99500 Pa\n");
    for (const own of ["cpu_thermal at thermal_zone0", "nvme at nvme0", "ds3231 at 1-0068"]) {
      expect(report).toContain(`${own}  skipped`);
    }
    expect(report).not.toContain("w1_slave_temp");
    const [source] = sourcesIn(report);
    expect(source).toMatchObject({
      kind: "kernel",
      chips: [
        { name: "bme280", channels: [{ sensor: "chip-1", quantity: "air-pressure" }] },
        { name: "mlx90614", channels: [{ sensor: "chip-2", quantity: "panel-temperature" }] },
        { name: "sht4x", at: "1-0044", channels: [{ quantity: "air-temperature" }, { quantity: "air-humidity" }] },
        { name: "sht4x", at: "1-0045", channels: [{ sensor: "chip-4" }, { sensor: "chip-4" }] },
      ],
    });
  });
});
