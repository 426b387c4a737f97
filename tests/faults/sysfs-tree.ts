/** A folder that looks like the kernel's /sys, with 1-Wire probes and sensor chips to plug in and pull out. */
import { spawnSync } from "node:child_process";
import {
  closeSync,
  constants,
  mkdirSync,
  mkdtempSync,
  openSync,
  renameSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";

export interface ChipPlace {
  shelf: "iio" | "hwmon";
  /** The number under which it is plugged in this time. */
  number: number;
  /** Device it belongs to, such as 1-0044, and the bus that is on. */
  at: string;
  bus?: string;
}

export class SysfsTree {
  readonly folder = mkdtempSync(join(tmpdir(), "coatclock-sysfs-"));
  readonly probes = join(this.folder, "bus/w1/devices");
  #hanging: string[] = [];

  /** Puts a probe on a bus. Gives its folder. */
  plugProbe(id: string, master: string, files: Record<string, string>): string {
    const folder = join(this.folder, "devices", master, id);
    writeFiles(folder, files);
    link(folder, join(this.probes, id));
    return folder;
  }

  pullProbe(id: string, master: string): void {
    rmSync(join(this.probes, id));
    rmSync(join(this.folder, "devices", master, id), { recursive: true });
  }

  /** Gives the chip's folder. */
  plugChip(place: ChipPlace, files: Record<string, string>): string {
    const { folder, linked } = this.#chip(place);
    writeFiles(folder, files);
    link(folder, linked);
    return folder;
  }

  pullChip(place: ChipPlace): void {
    const { folder, linked } = this.#chip(place);
    rmSync(linked);
    rmSync(folder, { recursive: true });
  }

  #chip({ shelf, number, at, bus = "i2c-1" }: ChipPlace): { folder: string; linked: string } {
    const device = join(this.folder, "devices/platform/soc", bus, at);
    const name = shelf === "iio" ? `iio:device${number}` : `hwmon${number}`;
    return {
      folder: shelf === "iio" ? join(device, name) : join(device, "hwmon", name),
      linked: join(this.folder, shelf === "iio" ? "bus/iio/devices" : "class/hwmon", name),
    };
  }

  /** Puts a file in the place whose readers wait. */
  hang(path: string): void {
    rmSync(path, { force: true });
    const made = spawnSync("mkfifo", [path]);
    if (made.status !== 0) throw new Error(`cannot make a pipe: ${made.stderr}`);
    this.#hanging.push(path);
  }

  /** Puts an ordinary file in the place again, and lets the reader that waits come back with nothing. */
  release(path: string, text: string): void {
    renameSync(path, `${path}.pipe`);
    replaceFile(path, text);
    this.#hanging = this.#hanging.filter((other) => other !== path);
    letGo(`${path}.pipe`);
  }

  remove(): void {
    for (const pipe of this.#hanging) letGo(pipe);
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** Opens the pipe's other end for a moment: who waits on it comes back. */
function letGo(pipe: string): void {
  try {
    closeSync(openSync(pipe, constants.O_WRONLY | constants.O_NONBLOCK));
  } catch (error) {
    // ENXIO: nobody waits on it.
    if (!(error instanceof Error && "code" in error && error.code === "ENXIO")) throw error;
  }
}

/** Replaces a file in one step, so that no reader finds half of it. */
export function replaceFile(path: string, text: string): void {
  writeFileSync(`${path}.new`, text);
  renameSync(`${path}.new`, path);
}

function writeFiles(folder: string, files: Record<string, string>): void {
  mkdirSync(folder, { recursive: true });
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
}

function link(target: string, path: string): void {
  mkdirSync(dirname(path), { recursive: true });
  symlinkSync(target, path);
}
