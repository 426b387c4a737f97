/** Whether this machine's wall clock can be believed. A Raspberry Pi without a battery-backed clock boots with a wrong one. */
import { existsSync } from "node:fs";
import { join } from "node:path";
import type { CollectorState } from "./readings.ts";

export type ClockState = CollectorState["clock"];

/**
 * Asks the operating system's time service. systemd-timesyncd keeps a folder under /run while it runs and puts the file
 * `synchronized` in it after the first successful synchronisation since boot (systemd-timesyncd.service(8)).
 * Where the folder is missing, another time service, or none, may be at work: `unknown`.
 */
export class Clock {
  readonly #folder: string;

  constructor(folder = "/run/systemd/timesync") {
    this.#folder = folder;
  }

  state(): ClockState {
    if (existsSync(join(this.#folder, "synchronized"))) return "synchronised";
    return existsSync(this.#folder) ? "unsynchronised" : "unknown";
  }
}
