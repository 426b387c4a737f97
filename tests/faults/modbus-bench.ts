/** A Modbus source under test, with the settings the shop file would give it, and what it has given. */
import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import { expect, vi } from "vitest";
import type { ModbusSettings } from "../../collector/settings.ts";
import { collectorSchema } from "../../collector/settings.ts";
import { ModbusSource } from "../../collector/sources/modbus.ts";
import type { Measurement } from "../../collector/sources/source.ts";

export const patience = { timeout: 15_000, interval: 10 };

interface Unit {
  unit: number;
  registers: { sensor: string; address: number; [more: string]: unknown }[];
  [more: string]: unknown;
}

/** A unit with one temperature, in tenths. */
export const temperature = (unit: number, address = 1): Unit => ({
  unit,
  registers: [{ sensor: `unit-${unit}`, address }],
});

export class ModbusBench {
  readonly everyMs: number;
  readonly timeoutMs: number;
  readonly warnings: string[] = [];
  taken: (Measurement & { atMs: number })[] = [];
  readonly #way: Record<string, unknown>;
  #source: ModbusSource | undefined;

  constructor(
    way: { path: string } | { host: string; port: number },
    { everyMs = 400, timeoutMs = 250 }: { everyMs?: number; timeoutMs?: number } = {},
  ) {
    this.#way = way;
    this.everyMs = everyMs;
    this.timeoutMs = timeoutMs;
  }

  /** Makes the source without starting it. */
  prepare(...units: Unit[]): ModbusSource {
    const logger = pino({ level: "warn" }, { write: (line: string) => this.warnings.push(JSON.parse(line).msg) });
    const context = { baseFolder: ".", shopZone: "UTC", sendPast: false, logger };
    this.#source = new ModbusSource(this.#settings(units), context);
    return this.#source;
  }

  start(...units: Unit[]): void {
    this.prepare(...units).start({
      measured: (more) => void this.taken.push(...more.map((one) => ({ ...one, atMs: performance.now() }))),
      put: () => expect.unreachable("what a bus gives was measured just now"),
      room: async () => undefined,
    });
  }

  async stop(): Promise<void> {
    await this.#source?.stop();
  }

  state(): string {
    return this.#source?.state().state ?? "";
  }

  counters(): Record<string, number> {
    return this.#source?.state().counters ?? {};
  }

  values(sensor: string): number[] {
    return this.taken.filter((one) => one.sensor === sensor).map((one) => one.value);
  }

  async untilState(state: string | RegExp): Promise<void> {
    await vi.waitFor(() => {
      if (typeof state === "string") expect(this.state()).toBe(state);
      else expect(this.state()).toMatch(state);
    }, patience);
  }

  async untilCounted(kind: string, least: number): Promise<void> {
    await vi.waitFor(() => expect(this.counters()[kind] ?? 0).toBeGreaterThanOrEqual(least), patience);
  }

  /** Waits for a value that was read after this moment. */
  async untilRead(sensor: string, value: number): Promise<void> {
    this.taken = [];
    await vi.waitFor(() => expect(this.values(sensor)).toContain(value), patience);
  }

  async rounds(count: number): Promise<void> {
    await delay(count * this.everyMs);
  }

  #settings(units: Unit[]): ModbusSettings {
    const devices = units.map((unit) => ({
      ...unit,
      registers: unit.registers.map((register) => ({ quantity: "air-temperature", scale: 0.1, ...register })),
    }));
    const { everyMs, timeoutMs } = this;
    const source = { kind: "modbus", ...this.#way, everySeconds: everyMs / 1000, timeoutMs, devices };
    const [settings] = collectorSchema.parse({ sources: [source] }).sources;
    if (settings?.kind !== "modbus") throw new TypeError("not the settings of a modbus source");
    return settings;
  }
}
