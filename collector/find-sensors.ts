/** Looks for sensors that are attached to this machine and says how to write them into the shop file. */
import { realpath } from "node:fs/promises";
import { join } from "node:path";
import { stringify } from "yaml";
import type { Quantity } from "./readings.ts";
import { quantities, quantityNames } from "./readings.ts";
import { readChannel } from "./sources/kernel.ts";
import type { KernelChip } from "./sources/kernel-chips.ts";
import { filesIn, findChips } from "./sources/kernel-chips.ts";
import { fileFor } from "./sources/kernel-text.ts";
import { readProbe } from "./sources/one-wire.ts";

export interface WhereToLook {
  serialFolder?: string;
  oneWireFolder?: string;
  sysFolder?: string;
}

/** What was found of one kind: lines for people, and sources for the shop file. */
interface Found {
  lines: string[];
  sources: Record<string, unknown>[];
}

/**
 * Serial ports, 1-Wire probes with their present value and the kernel's sensor chips, and the lines of a shop file's
 * `sources:` that read them. Names of sensors are invented. Reads every probe, so it takes a second for each. Never rejects.
 */
export async function findSensors(options: WhereToLook = {}): Promise<string> {
  const { serialFolder = "/dev/serial", oneWireFolder = "/sys/bus/w1/devices", sysFolder = "/sys" } = options;
  const { signal } = new AbortController();
  const serial = await findSerial(serialFolder);
  const oneWire = await findProbes(oneWireFolder, signal);
  const kernel = await findKernel(sysFolder, signal);
  const sources = [...serial.sources, ...oneWire.sources, ...kernel.sources];
  return [
    ...chapter("Serial ports", serial.lines),
    ...chapter("1-Wire probes", oneWire.lines),
    ...chapter("Chips with a driver in the kernel", kernel.lines),
    ...(sources.length > 0 ? shopFileLines(sources) : nothing),
    "",
    "Transmitters on Modbus do not show themselves: take unit, registers and baud from the manual, see docs/modbus.md.",
    "",
  ].join("\n");
}

const nothing = [
  "Nothing was found that can be read. Look at:",
  "  - Serial: is the device plugged in and powered? `ls -l /dev/serial/by-id/` shows it when it is.",
  "    The account that runs the collector must be in the group dialout.",
  "  - 1-Wire on a Raspberry Pi: the line `dtoverlay=w1-gpio` in /boot/firmware/config.txt, then a restart; the resistor",
  "    of 4.7 kΩ between data and 3.3 V. See docs/one-wire.md.",
  "  - I²C on a Raspberry Pi: a line such as `dtoverlay=i2c-sensor,sht4x` in /boot/firmware/config.txt, then a restart.",
  "    See docs/kernel-sensors.md.",
];

function chapter(title: string, lines: readonly string[]): string[] {
  return [title, ...(lines.length > 0 ? lines : ["none"]).map((line) => `  ${line}`), ""];
}

function shopFileLines(sources: readonly Record<string, unknown>[]): string[] {
  const block = stringify({ sources }, { lineWidth: 0 }).trimEnd().split("\n");
  return [
    "For the shop file, under `collectors:` and this machine's name. The sensors' names are invented, give them your own;",
    "look at each quantity: a probe on a panel is panel-temperature, one in the air is air-temperature.",
    "",
    ...block.map((line) => `    ${line}`),
  ];
}

async function findSerial(folder: string): Promise<Found> {
  const ports = await portsIn(join(folder, "by-id"));
  const known = new Set(ports.map(({ target }) => target));
  const others = (await portsIn(join(folder, "by-path"))).filter(({ target }) => !known.has(target));
  // One port may have several names by the way it is plugged in.
  const unnamed = [...new Map(others.map((port) => [port.target, port])).values()];
  const paths = [...ports, ...unnamed].map(({ path }) => path);
  return {
    lines: [
      ...ports.map(({ path, target }) => `${path}  (now ${target})`),
      ...unnamed.map(
        ({ path, target }) => `${path}  (now ${target}; the name stays with the socket, not with the device)`,
      ),
    ],
    sources: paths.map((path, n) => ({ kind: "serial", path, sensors: [`serial-${n + 1}`] })),
  };
}

async function portsIn(folder: string): Promise<{ path: string; target: string }[]> {
  const paths = [...(await filesIn(folder))].sort().map((name) => join(folder, name));
  return Promise.all(paths.map(async (path) => ({ path, target: await realpath(path).catch(() => "gone") })));
}

const probeId = /^[0-9a-f]{2}-[0-9a-f]{12}$/;
/** Families of thermometers that the kernel reads: Linux kernel documentation, Documentation/w1/slaves/w1_therm.rst. */
const thermometer = /^(10|22|28|3b|42)-[0-9a-f]{12}$/;

async function findProbes(folder: string, signal: AbortSignal): Promise<Found> {
  const ids = [...(await filesIn(folder))].filter((name) => probeId.test(name)).sort();
  const lines: string[] = [];
  for (const id of ids) {
    if (!thermometer.test(id)) {
      lines.push(`${id}  skipped: no thermometer`);
      continue;
    }
    const { reading } = await readProbe(join(folder, id), undefined, signal);
    lines.push(`${id}  ${"celsius" in reading ? shown("panel-temperature", reading.celsius) : reading.fault}`);
  }
  const probes = ids
    .filter((id) => thermometer.test(id))
    .map((id, n) => ({ id, sensor: `probe-${n + 1}`, quantity: "panel-temperature" }));
  return { lines, sources: probes.length === 0 ? [] : [{ kind: "one-wire", probes }] };
}

async function findKernel(folder: string, signal: AbortSignal): Promise<Found> {
  // The kernel shows a 1-Wire probe as such a chip too.
  const chips = (await findChips(folder)).filter(({ at }) => !probeId.test(at));
  const lines: string[] = [];
  const offered: Record<string, unknown>[] = [];
  for (const chip of chips) {
    const has = await filesIn(chip.folder);
    const offers = offersOf(chip, has);
    if (offers.length === 0) {
      lines.push(
        `${chip.name} at ${chip.at}  skipped: measures the machine itself, or no temperature, humidity or pressure`,
      );
      continue;
    }
    const sensor = `chip-${offered.length + 1}`;
    const values: string[] = [];
    for (const quantity of offers) {
      const value = await readChannel(chip, { quantity }, has, signal);
      values.push(`${quantity} ${"value" in value ? shown(quantity, value.value) : value.kind}`);
    }
    lines.push(`${chip.name} at ${chip.at}  ${values.join(", ")}`);
    const isAlone = chips.filter(({ name }) => name === chip.name).length === 1;
    const channels = offers.map((quantity) => ({ sensor, quantity }));
    offered.push({ name: chip.name, ...(isAlone ? {} : { at: chip.at }), channels });
  }
  return { lines, sources: offered.length === 0 ? [] : [{ kind: "kernel", chips: offered }] };
}

/**
 * The quantities of a chip that can be those of a room. A thermometer counts only on an I²C bus (1-0044): the others are
 * the machine's own, such as cpu_thermal and nvme, and so is that of a clock chip.
 */
function offersOf(chip: KernelChip, has: ReadonlySet<string>): Quantity[] {
  const all = quantityNames.filter((quantity) => fileFor(quantity, undefined, has) !== undefined);
  const isOfRoom = all.includes("air-humidity") || all.includes("air-pressure") || /^\d+-[0-9a-f]{4}$/.test(chip.at);
  if (!isOfRoom || /^(ds3231|rtc)/.test(chip.name)) return [];
  const isInfrared = [...has].some((file) => file.startsWith("in_temp_object"));
  return all.filter((quantity) => quantity !== (isInfrared ? "air-temperature" : "panel-temperature"));
}

function shown(quantity: Quantity, value: number): string {
  const words = { Cel: "°C", "%RH": "%", Pa: "Pa", "m/s": "m/s" };
  return `${Number(value.toFixed(2))} ${words[quantities[quantity].unit]}`;
}
