/** A serial bus with Modbus transmitters for tests: a pseudo-terminal pair and the program modbus-device.mjs on its far end. */
import { type ChildProcess, spawn } from "node:child_process";
import { rmSync, symlinkSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout as delay } from "node:timers/promises";
import { killChild } from "./brokers.ts";
import { SerialCable } from "./serial-cable.ts";

/** What a unit is from now on; see modbus-device.mjs. */
export interface UnitScript {
  unit: number;
  registers: Record<number, number>;
  functionCode?: 3 | 4;
  how?: string;
  lateMs?: Record<number, number>;
  code?: number;
}

export class ModbusBus {
  readonly #folder: string;
  #cable: SerialCable | undefined;
  #program: ChildProcess | undefined;
  #said: Record<string, unknown>[] = [];

  constructor(folder: string) {
    this.#folder = folder;
  }

  /** What the collector opens: there only once the transmitters are ready. */
  get port(): string {
    return join(this.#folder, "bus");
  }

  /** Every request that reached the far end, in hexadecimal. */
  heard(): string[] {
    return this.#said.flatMap(({ heard }) => (typeof heard === "string" ? [heard] : []));
  }

  forget(): void {
    this.#said = [];
  }

  async plugIn(...units: UnitScript[]): Promise<void> {
    this.#cable = await SerialCable.plugIn(this.#folder);
    await this.startProgram(...units);
    symlinkSync(this.#cable.port, this.port);
  }

  async unplug(): Promise<void> {
    await this.killProgram();
    rmSync(this.port, { force: true });
    await this.#cable?.unplug();
    this.#cable = undefined;
  }

  async startProgram(...units: UnitScript[]): Promise<void> {
    const file = join(import.meta.dirname, "modbus-device.mjs");
    const program = spawn(process.execPath, [file, join(this.#folder, "device")], {
      stdio: ["pipe", "pipe", "inherit"],
    });
    this.#program = program;
    createInterface(program.stdout).on("line", (line) => this.#said.push(JSON.parse(line)));
    await this.#untilSaid("ready", true);
    for (const unit of units) await this.script(unit);
  }

  async killProgram(): Promise<void> {
    if (this.#program !== undefined) await killChild(this.#program);
    this.#program = undefined;
  }

  async script(unit: UnitScript): Promise<void> {
    this.#said = this.#said.filter(({ set }) => set !== unit.unit);
    this.#program?.stdin?.write(`${JSON.stringify(unit)}\n`);
    await this.#untilSaid("set", unit.unit);
  }

  async #untilSaid(key: string, value: unknown): Promise<void> {
    for (let tries = 0; !this.#said.some((one) => one[key] === value); tries += 1) {
      if (tries > 1000) throw new Error("the device program does not answer");
      await delay(10);
    }
    this.#said = this.#said.filter((one) => one[key] !== value);
  }
}
