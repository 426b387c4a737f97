/** The Modbus source when its serial bus falls silent or is pulled out, and when it is told to stop. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { ModbusBench, patience, temperature } from "./modbus-bench.ts";
import { ModbusBus } from "./modbus-bus.ts";

let folder: string;
let bus: ModbusBus;
let bench: ModbusBench;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-modbus-"));
  bus = new ModbusBus(folder);
  bench = new ModbusBench({ path: bus.port });
});

afterEach(async () => {
  await bench.stop();
  await bus.unplug();
  rmSync(folder, { recursive: true, force: true });
});

describe("ModbusSource when the bus is lost", () => {
  it("opens the port again when nobody answers, and hears the transmitters when their supply is back", async () => {
    const units = [
      { unit: 1, registers: { 1: 111 } },
      { unit: 8, registers: { 1: 222 } },
    ];
    await bus.plugIn(...units);
    bench.start(temperature(1), temperature(8));
    await bench.untilRead("unit-8", 22.2);
    await bus.killProgram();
    await bench.untilState("silent, opening again; unit 1 does not answer; unit 8 does not answer");
    await vi.waitFor(() => expect(bench.counters().opened).toBeGreaterThanOrEqual(2), patience);
    await bus.startProgram(...units);
    await bench.untilRead("unit-8", 22.2);
    await bench.untilState("receiving");
  });

  it("says so at once when the port is pulled out, and goes on when it is plugged in again", async () => {
    const unit = { unit: 1, registers: { 1: 111 } };
    await bus.plugIn(unit);
    bench = new ModbusBench({ path: bus.port }, { everyMs: 60_000, timeoutMs: 2_000 });
    bench.start(temperature(1), temperature(8));
    await bench.untilState("receiving; unit 8 does not answer");
    await bus.unplug();
    await bench.untilState(/^(unplugged|cannot open), trying again[^;]*$/);
    await bus.plugIn(unit, { unit: 8, registers: { 1: 222 } });
    await bench.untilRead("unit-8", 22.2);
    await bench.untilState("receiving");
    expect(bench.counters().opened).toBe(2);
  });

  it("waits for a port that is not there yet, and warns of a port name that may change hands", async () => {
    bench.start(temperature(1));
    await bench.untilState(/^cannot open, trying again: .*bus/);
    expect(bench.warnings.join()).toContain("/dev/serial/by-id/");
    await bus.plugIn({ unit: 1, registers: { 1: 111 } });
    await bench.untilRead("unit-1", 11.1);
  });

  it.each([
    ["before it was started", async () => undefined],
    ["while it receives", () => bench.untilRead("unit-1", 11.1)],
    ["while nobody answers", () => bus.killProgram().then(() => bench.untilState(/^silent, opening again/))],
    ["without a port", () => bus.unplug().then(() => bench.untilState(/trying again/))],
  ])("stops %s, at once and for good", async (when, until) => {
    await bus.plugIn({ unit: 1, registers: { 1: 111 } });
    if (when === "before it was started") bench.prepare(temperature(1));
    else bench.start(temperature(1));
    await until();
    await expectStopped();
  });

  it("stops at once while it waits long for an answer", async () => {
    await bus.plugIn();
    bench = new ModbusBench({ path: bus.port }, { timeoutMs: 30_000 });
    bench.start(temperature(8));
    await vi.waitFor(() => expect(bus.heard()).toHaveLength(1), patience);
    await expectStopped();
  });

  async function expectStopped(): Promise<void> {
    const beforeMs = performance.now();
    await bench.stop();
    expect(performance.now() - beforeMs).toBeLessThan(1_000);
    // What was asked just before may still be on its way.
    await bench.rounds(1);
    bus.forget();
    bench.taken = [];
    await bench.rounds(3);
    expect(bench.taken).toEqual([]);
    expect(bus.heard()).toEqual([]);
    expect(bench.state()).toBe("stopped");
  }
});
