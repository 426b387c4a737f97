/** A serial cable for tests: a pair of pseudo-terminals made by socat. One end is the collector's port, the other the device's. */
import { type ChildProcess, spawn } from "node:child_process";
import { closeSync, existsSync, openSync, rmSync, writeSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { killChild } from "./brokers.ts";

export class SerialCable {
  /** What the collector opens. */
  readonly port: string;
  readonly #ends: string[];
  readonly #socat: ChildProcess;
  readonly #device: number;

  private constructor(ends: string[], socat: ChildProcess, device: number) {
    this.port = ends[0] ?? "";
    this.#ends = ends;
    this.#socat = socat;
    this.#device = device;
  }

  static async plugIn(folder: string): Promise<SerialCable> {
    const ends = ["port", "device"].map((name) => join(folder, name));
    const socat = spawn(
      "socat",
      ends.map((path) => `pty,raw,echo=0,link=${path}`),
      { stdio: "ignore" },
    );
    socat.on("error", () => undefined);
    for (let tries = 0; !ends.every(existsSync); tries += 1) {
      if (tries > 200 || socat.exitCode !== null || socat.pid === undefined)
        throw new Error("socat made no pseudo-terminals: is it installed?");
      await delay(20);
    }
    return new SerialCable(ends, socat, openSync(ends[1] ?? "", "r+"));
  }

  send(bytes: string | Uint8Array): void {
    writeSync(this.#device, typeof bytes === "string" ? Buffer.from(bytes, "latin1") : bytes);
  }

  async unplug(): Promise<void> {
    closeSync(this.#device);
    await killChild(this.#socat);
    for (const end of this.#ends) rmSync(end, { force: true });
  }
}
