/** Which sensor chips the kernel shows, by name and by where they are attached. */
import { readdir, readFile, realpath } from "node:fs/promises";
import { basename, dirname, join } from "node:path";

export interface KernelChip {
  /** As in its `name` file. */
  name: string;
  /** The device behind it, such as 1-0044: bus 1, address 44. */
  at: string;
  /** Its real folder. The number in it changes from one plugging in to the next. */
  folder: string;
  /** The folder of the bus that the device is on. */
  bus: string;
}

const shelves = ["bus/iio/devices", "class/hwmon"];

/** All chips under a folder such as /sys, industrial I/O first, ordered by name and place. Never rejects: what cannot be read is not there. */
export async function findChips(folder: string): Promise<KernelChip[]> {
  const found = await Promise.all(
    shelves.map(async (shelf) => {
      const entries = await filesIn(join(folder, shelf));
      return Promise.all([...entries].map((entry) => chipIn(join(folder, shelf, entry))));
    }),
  );
  const chips = found.map((shelf) => shelf.filter((chip) => chip !== undefined));
  return chips.flatMap((shelf) => shelf.sort((a, b) => `${a.name} ${a.at}`.localeCompare(`${b.name} ${b.at}`)));
}

/** The chip's name as the folder tells it, or undefined where there is none (any more). */
export function nameIn(folder: string): Promise<string | undefined> {
  return readFile(join(folder, "name"), "utf8").then(
    (text) => text.trim(),
    () => undefined,
  );
}

/** Names of the files in a folder; none where it cannot be read. */
export async function filesIn(folder: string): Promise<Set<string>> {
  return new Set(await readdir(folder).catch(() => []));
}

async function chipIn(link: string): Promise<KernelChip | undefined> {
  const [folder, name] = await Promise.all([realpath(link).catch(() => undefined), nameIn(link)]);
  if (folder === undefined || name === undefined) return undefined;
  // …/i2c-1/1-0076/iio:device0, but …/i2c-1/1-0044/hwmon/hwmon2.
  const parent = dirname(folder);
  const device = basename(parent) === "hwmon" ? dirname(parent) : parent;
  return { name, at: basename(device), folder, bus: dirname(device) };
}
