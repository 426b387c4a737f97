/** The sources that read the kernel's files, on a folder that looks like /sys: probes and chips that fail, hang and move. */
import { mkdirSync, rmSync, symlinkSync } from "node:fs";
import { join } from "node:path";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { KernelSettings, OneWireSettings } from "../../collector/settings.ts";
import { KernelSource } from "../../collector/sources/kernel.ts";
import { OneWireSource } from "../../collector/sources/one-wire.ts";
import type { Measurement, Outlet, Source } from "../../collector/sources/source.ts";
import { publishedProbeTexts } from "./probe-texts.ts";
import type { ChipPlace } from "./sysfs-tree.ts";
import { replaceFile, SysfsTree } from "./sysfs-tree.ts";

const patience = { timeout: 15_000, interval: 10 };
const everySeconds = 0.03;
const context = { baseFolder: ".", shopZone: "UTC", sendPast: false, logger: pino({ level: "silent" }) };

let tree: SysfsTree;
let source: Source;
let taken: Measurement[];

beforeEach(() => {
  tree = new SysfsTree();
});
afterEach(async () => {
  await source.stop();
  tree.remove();
});

function start(what: Source): void {
  source = what;
  taken = [];
  const outlet: Outlet = {
    measured: (more) => void taken.push(...more),
    put: () => expect.unreachable("values just read have no instant of their own"),
    room: async () => undefined,
  };
  source.start(outlet);
}

const counters = () => source.state().counters;
const untilState = (state: string) => vi.waitFor(() => expect(source.state().state).toBe(state), patience);
const untilCounted = (kind: string, least: number) =>
  vi.waitFor(() => expect(counters()[kind] ?? 0).toBeGreaterThanOrEqual(least), patience);
const last = (sensor: string, quantity: string) =>
  taken.findLast((one) => one.sensor === sensor && one.quantity === quantity)?.value;
/** Waits for values that were read after this moment. */
async function untilRead(sensor: string, quantity: string, value: number): Promise<void> {
  taken.length = 0;
  await vi.waitFor(() => expect(last(sensor, quantity)).toBeCloseTo(value, 9), patience);
}

describe("OneWireSource", () => {
  const [one, two, three] = ["28-000000000001", "28-000000000002", "28-000000000003"] as const;
  const text = (nine: string, milliC: number) => `${nine} : crc=${nine.slice(-2)} YES\n${nine} t=${milliC}\n`;
  const room = text("70 01 4b 46 7f ff 10 10 e1", 23_000);
  const powerOn = text("50 05 4b 46 7f ff 0c 10 1c", 85_000);

  function startProbes(...ids: string[]): void {
    const probes = ids.map((id) => ({ id, sensor: `probe-${id.slice(-1)}`, quantity: "panel-temperature" as const }));
    const settings: OneWireSettings = { kind: "one-wire", everySeconds, probes, folder: tree.probes };
    start(new OneWireSource(settings, context));
  }

  it("gives of every published text the reading or the refusal it should", async () => {
    const probes = publishedProbeTexts.map(([, slave], n) => {
      const id = `28-0000000000${n.toString(16).padStart(2, "0")}`;
      tree.plugProbe(id, "w1_bus_master1", { w1_slave: slave });
      return { id, sensor: `probe-${n}`, quantity: "air-temperature" as const };
    });
    start(new OneWireSource({ kind: "one-wire", everySeconds: 60, probes, folder: tree.probes }, context));
    const readings = publishedProbeTexts.flatMap(([, , result], n) =>
      typeof result === "number" ? [{ sensor: `probe-${n}`, quantity: "air-temperature", value: result }] : [],
    );
    await vi.waitFor(() => expect(taken).toHaveLength(readings.length), patience);
    await untilCounted("cut line", 1);
    expect(taken).toEqual(readings);
    const refusals = publishedProbeTexts.map(([, , result]) => result).filter((result) => typeof result === "string");
    const counted: Record<string, number> = { readings: readings.length };
    for (const refusal of refusals) counted[refusal] = (counted[refusal] ?? 0) + 1;
    expect(counters()).toEqual(counted);
  });

  it("goes on with the other probes while one is pulled out, and with that one when it is back", async () => {
    for (const id of [one, two]) tree.plugProbe(id, "w1_bus_master1", { w1_slave: room });
    startProbes(one, two);
    await untilState("reading");
    tree.pullProbe(one, "w1_bus_master1");
    await untilState(`reading 1 of 2; ${one}: unplugged`);
    await untilRead("probe-2", "panel-temperature", 23);
    tree.plugProbe(one, "w1_bus_master1", { w1_slave: room });
    await untilState("reading");
    await untilRead("probe-1", "panel-temperature", 23);
  });

  it("refuses the power-on value, and after a probe was pulled out no longer knows that it was hot", async () => {
    const folder = tree.plugProbe(one, "w1_bus_master1", { w1_slave: powerOn });
    startProbes(one);
    await untilState(`reading 0 of 1; ${one}: power-on value`);
    expect(taken).toEqual([]);
    replaceFile(join(folder, "w1_slave"), text("4c 05 4b 46 7f ff 0c 10 77", 84_750));
    await untilRead("probe-1", "panel-temperature", 84.75);
    replaceFile(join(folder, "w1_slave"), powerOn);
    await untilRead("probe-1", "panel-temperature", 85);
    tree.pullProbe(one, "w1_bus_master1");
    await untilState(`reading 0 of 1; ${one}: unplugged`);
    tree.plugProbe(one, "w1_bus_master1", { w1_slave: powerOn });
    await untilState(`reading 0 of 1; ${one}: power-on value`);
  });

  it("reads the file temperature where there is no w1_slave, and takes an empty one for no reading", async () => {
    const folder = tree.plugProbe(one, "w1_bus_master1", { temperature: "21562\n" });
    startProbes(one);
    await untilRead("probe-1", "panel-temperature", 21.562);
    replaceFile(join(folder, "temperature"), "");
    await untilState(`reading 0 of 1; ${one}: cut line`);
    replaceFile(join(folder, "temperature"), "21625\n");
    await untilRead("probe-1", "panel-temperature", 21.625);
    await untilState("reading");
  });

  it("gives up a probe that hangs and leaves its bus alone, while the probe of another bus is read on", async () => {
    const hanging = tree.plugProbe(one, "w1_bus_master1", { w1_slave: room });
    tree.plugProbe(two, "w1_bus_master1", { w1_slave: room });
    tree.plugProbe(three, "w1_bus_master2", { w1_slave: room });
    startProbes(one, two, three);
    await untilState("reading");
    tree.hang(join(hanging, "w1_slave"));
    await untilState(`reading 1 of 3; ${one}: bus hangs; ${two}: bus hangs`);
    expect(counters()["no answer"]).toBe(1);
    const before = counters().readings ?? 0;
    await untilCounted("readings", before + 20);
    expect(counters()["no answer"]).toBe(1);
    tree.release(join(hanging, "w1_slave"), room);
    await untilState("reading");
  });

  it("stops at once while a probe hangs", async () => {
    const folder = tree.plugProbe(one, "w1_bus_master1", {});
    tree.hang(join(folder, "w1_slave"));
    startProbes(one);
    await new Promise((resolve) => setTimeout(resolve, 100));
    const fromMs = performance.now();
    await source.stop();
    expect(performance.now() - fromMs).toBeLessThan(1000);
    expect(taken).toEqual([]);
  });

  it("counts a probe whose file cannot be read, and reads the others", async () => {
    const folder = tree.plugProbe(one, "w1_bus_master1", {});
    // Permissions do not bind root, as whom tests may run: a folder in the file's place cannot be read by anybody.
    mkdirSync(join(folder, "w1_slave"));
    tree.plugProbe(two, "w1_bus_master1", { w1_slave: room });
    startProbes(one, two);
    await untilState(`reading 1 of 2; ${one}: cannot read: EISDIR`);
    await untilRead("probe-2", "panel-temperature", 23);
  });
});

describe("KernelSource", () => {
  const hwmon = (number: number, at = "1-0044"): ChipPlace => ({ shelf: "hwmon", number, at });
  const iio = (number: number, at = "1-0076"): ChipPlace => ({ shelf: "iio", number, at });
  const sht = (milliC: number) => ({ name: "sht3x\n", temp1_input: `${milliC}\n`, humidity1_input: "54200\n" });
  const air = (sensor: string) => [
    { sensor, quantity: "air-temperature" as const },
    { sensor, quantity: "air-humidity" as const },
  ];

  function startChips(...chips: KernelSettings["chips"]): void {
    start(new KernelSource({ kind: "kernel", everySeconds, chips, folder: tree.folder }, context));
  }

  it("reads a chip of either kind in milli-units, and pressure in kilopascal", async () => {
    tree.plugChip(hwmon(0, "thermal_zone0"), { name: "cpu_thermal\n", temp1_input: "61000\n" });
    tree.plugChip(hwmon(1), sht(23_500));
    tree.plugChip(iio(0), {
      name: "bme280\n",
      in_temp_input: "22750\n",
      in_humidityrelative_input: "62600\n",
      in_pressure_input: "99.123456789\n",
    });
    const channels = [...air("yard"), { sensor: "yard", quantity: "air-pressure" as const }];
    startChips({ name: "sht3x", channels: air("booth") }, { name: "bme280", channels });
    await untilState("reading");
    expect(last("booth", "air-temperature")).toBe(23.5);
    expect(last("booth", "air-humidity")).toBe(54.2);
    expect(last("yard", "air-temperature")).toBe(22.75);
    expect(last("yard", "air-humidity")).toBe(62.6);
    expect(last("yard", "air-pressure")).toBeCloseTo(99_123.456789, 6);
  });

  // Linux kernel documentation, sysfs-bus-iio: (raw + offset) × scale; raw 3AF7 (15095) of an MLX90614 is 28.75 °C.
  it.each(["-13657.500000", "13657.500000"])("reads an infrared chip whose offset is shown as %s", async (offset) => {
    tree.plugChip(iio(0, "1-005a"), {
      name: "mlx90614\n",
      in_temp_ambient_raw: "14800\n",
      in_temp_object_raw: "15095\n",
      in_temp_scale: "20\n",
      in_temp_offset: `${offset}\n`,
    });
    startChips({ name: "mlx90614", channels: [{ sensor: "panel", quantity: "panel-temperature" }] });
    await untilState("reading");
    expect(last("panel", "panel-temperature")).toBe(28.75);
  });

  it("asks which one is meant where two share a name, and reads each by its address", async () => {
    tree.plugChip(hwmon(3), sht(20_000));
    tree.plugChip(hwmon(4, "1-0045"), sht(30_000));
    startChips(
      { name: "sht3x", channels: air("which") },
      { name: "sht3x", at: "1-0045", channels: air("second") },
      { name: "sht3x", at: "1-0046", channels: air("none") },
    );
    await untilState(
      "reading 1 of 3; sht3x: several of the name, set at to one of 1-0044, 1-0045; sht3x at 1-0046: not there, but at 1-0044, 1-0045",
    );
    expect(new Set(taken.map((one) => one.sensor))).toEqual(new Set(["second"]));
    expect(last("second", "air-temperature")).toBe(30);
  });

  it("finds a chip again under its new number, though another chip has its old one", async () => {
    tree.plugChip(hwmon(2), sht(20_000));
    startChips({ name: "sht3x", channels: air("booth") });
    await untilRead("booth", "air-temperature", 20);
    tree.pullChip(hwmon(2));
    await untilState("reading 0 of 1; sht3x: not there");
    tree.plugChip(hwmon(2), { name: "rpi_volt\n", temp1_input: "99000\n", humidity1_input: "99000\n" });
    tree.plugChip(hwmon(7), sht(21_000));
    await untilState("reading");
    await untilRead("booth", "air-temperature", 21);
    expect(taken.map((one) => one.value)).not.toContain(99);
  });

  it("counts what keeps a channel from being read, gives the other channels, and recovers by itself", async () => {
    const folder = tree.plugChip(hwmon(1), sht(20_000));
    const humidity = join(folder, "humidity1_input");
    startChips({ name: "sht3x", channels: air("booth") });
    await untilState("reading");

    replaceFile(humidity, "");
    await untilState("reading 0 of 1; sht3x: air-humidity empty read");
    await untilRead("booth", "air-temperature", 20);
    replaceFile(humidity, "cat: humidity1_input: Connection timed out\n");
    await untilState("reading 0 of 1; sht3x: air-humidity no number");
    rmSync(humidity);
    // The first page of a process's memory is never mapped: the kernel answers with EIO.
    symlinkSync("/proc/self/mem", humidity);
    await untilState("reading 0 of 1; sht3x: air-humidity input/output error");
    rmSync(humidity);
    await untilState(
      "reading 0 of 1; sht3x: air-humidity: none of in_humidityrelative_input, humidity1_input, in_humidityrelative_raw",
    );

    replaceFile(humidity, "60000\n");
    await untilState("reading");
    await untilRead("booth", "air-humidity", 60);
    for (const kind of ["empty read", "no number", "input/output error", "no such file"]) {
      expect(counters()[kind], kind).toBeGreaterThanOrEqual(1);
    }
  });

  it("reads the named file, and has to be told one for air speed", async () => {
    const folder = tree.plugChip(hwmon(1), { ...sht(20_000), temp2_input: "25000\n", speed1_input: "0.3\n" });
    startChips(
      { name: "sht3x", channels: [{ sensor: "booth", quantity: "air-temperature", file: "temp2_input" }] },
      { name: "sht3x", channels: [{ sensor: "fan", quantity: "air-speed", file: "speed1_input" }] },
      { name: "sht3x", channels: [{ sensor: "fan", quantity: "air-speed" }] },
    );
    await untilState("reading 2 of 3; sht3x: air-speed: its file must be named");
    expect(last("booth", "air-temperature")).toBe(25);
    expect(last("fan", "air-speed")).toBe(0.3);
    rmSync(join(folder, "temp2_input"));
    await untilState(
      "reading 1 of 3; sht3x: air-temperature: no file temp2_input; sht3x: air-speed: its file must be named",
    );
  });

  it("leaves a bus alone on which a chip hangs, and reads the chips of another", async () => {
    const folder = tree.plugChip(hwmon(1), sht(20_000));
    tree.plugChip({ ...iio(0, "3-0076"), bus: "i2c-3" }, { name: "bme280\n", in_temp_input: "22000\n" });
    const channels = [{ sensor: "yard", quantity: "air-temperature" as const }];
    startChips({ name: "sht3x", channels: air("booth") }, { name: "bme280", channels });
    await untilState("reading");
    rmSync(join(folder, "temp1_input"));
    tree.hang(join(folder, "temp1_input"));
    await untilState("reading 1 of 2; sht3x: air-temperature bus hangs, air-humidity bus hangs");
    await untilRead("yard", "air-temperature", 22);
    tree.release(join(folder, "temp1_input"), "20500\n");
    await untilState("reading");
    await untilRead("booth", "air-temperature", 20.5);
  });
});
