/** The Modbus source on a serial bus: a pseudo-terminal pair with a separate program as the transmitters. */
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

describe("ModbusSource on a serial bus", () => {
  it("sends the requests that manuals print, and gives the values of their replies", async () => {
    // Requests and replies as documented by public device manuals; checks by the Modbus over serial line specification V1.02.
    await bus.plugIn(
      { unit: 1, registers: { 1: 0x01_07 } },
      { unit: 2, functionCode: 3, registers: { 0: 0x01_11, 1: 0x02_72 } },
      { unit: 8, registers: { 2: 0x1c_d2 } },
    );
    bench.start(
      temperature(1),
      {
        unit: 2,
        functionCode: 3,
        addressBase: 1,
        registers: [
          { sensor: "unit-2", address: 1 },
          { sensor: "unit-2", address: 2, quantity: "air-humidity" },
        ],
      },
      { unit: 8, registers: [{ sensor: "unit-8", address: 2, quantity: "air-humidity", scale: 0.01 }] },
    );
    await bench.untilState("receiving");
    await vi.waitFor(() => expect(bench.taken.length).toBeGreaterThanOrEqual(4), patience);
    expect(bench.taken.slice(0, 4)).toMatchObject([
      { sensor: "unit-1", quantity: "air-temperature", value: 26.3 },
      { sensor: "unit-2", quantity: "air-temperature", value: 27.3 },
      { sensor: "unit-2", quantity: "air-humidity", value: 62.6 },
      { sensor: "unit-8", quantity: "air-humidity", value: 73.78 },
    ]);
    const [first, second, third] = bus.heard();
    expect(first).toBe("010400010001600a");
    // Printed for unit 1: 01 03 00 00 00 02 c4 0b.
    expect(second).toMatch(/^020300000002/);
    expect(third).toBe("0804000200019093");
    expect(Object.keys(bench.counters()).sort()).toEqual(["opened", "readings"]);
  });

  it("sends the printed request for two holding registers", async () => {
    await bus.plugIn({ unit: 1, functionCode: 3, registers: { 0: 0xff_9b, 1: 0x80_00 } });
    const registers = [
      { sensor: "unit-1", address: 0 },
      { sensor: "unit-1", address: 1, quantity: "air-humidity" },
    ];
    bench.start({ unit: 1, functionCode: 3, registers });
    await bench.untilRead("unit-1", -10.1);
    expect(bus.heard()[0]).toBe("010300000002c40b");
    expect(bench.taken.every(({ quantity }) => quantity === "air-temperature")).toBe(true);
    // The humidity's 0x8000 stands for a broken sensor (common practice).
    await bench.untilState("receiving; unit 1 has no valid air-humidity of unit-1");
    expect(bench.counters()["bad value"]).toBeGreaterThanOrEqual(1);
  });

  it.each([
    ["silence", "no answer", "unit 8 does not answer"],
    ["truncated", "cut answer", "answers of unit 8 come damaged"],
    ["wrong check", "wrong check", "answers of unit 8 come damaged"],
    ["foreign unit", "another unit's answer", "another answers instead of unit 8"],
    ["too many", "unfitting answer", "unit 8 answers what was not asked"],
    ["exception", "exception 4", "unit 8 answers exception 4 (server device failure)"],
  ])("counts and names a unit's %s, goes on with the others, and sees it recover", async (how, kind, words) => {
    const good = { unit: 8, registers: { 1: 222 }, code: 4 };
    await bus.plugIn({ unit: 1, registers: { 1: 111 } }, { ...good, how }, { unit: 9, registers: { 1: 333 } });
    bench.start(temperature(1), temperature(8), temperature(9));
    await bench.untilState(`receiving; ${words}`);
    await bench.untilRead("unit-1", 11.1);
    await bench.untilRead("unit-9", 33.3);
    expect(bench.values("unit-8")).toEqual([]);
    const { opened, readings, ...faults } = bench.counters();
    expect({ opened, faults: Object.keys(faults) }).toEqual({ opened: 1, faults: [kind] });
    await bus.script(good);
    await bench.untilRead("unit-8", 22.2);
    await bench.untilState("receiving");
    await bench.rounds(2);
    expect(Object.keys(bench.counters()).sort()).toEqual([kind, "opened", "readings"].sort());
  });

  it.each(["noise before", "pieces"])("takes a good answer that comes with %s", async (how) => {
    await bus.plugIn({ unit: 1, registers: { 1: 111 }, how }, { unit: 8, registers: { 1: 222 } });
    bench.start(temperature(1), temperature(8));
    await bench.untilRead("unit-1", 11.1);
    await bench.untilRead("unit-8", 22.2);
    expect(bench.state()).toBe("receiving");
    expect(Object.keys(bench.counters()).sort()).toEqual(["opened", "readings"]);
  });

  it("does not name a unit for a single fault between good answers, but counts it", async () => {
    await bus.plugIn({ unit: 1, registers: { 1: 111 } });
    bench.start(temperature(1));
    await bench.untilRead("unit-1", 11.1);
    const states = new Set<string>();
    const watch = setInterval(() => states.add(bench.state()), 5);
    await bus.script({ unit: 1, registers: { 1: 112 }, how: "wrong check" });
    await vi.waitFor(() => expect(bench.counters()["wrong check"]).toBe(1), patience);
    await bus.script({ unit: 1, registers: { 1: 113 } });
    await bench.untilRead("unit-1", 11.3);
    clearInterval(watch);
    expect([...states]).toEqual(["receiving"]);
  });

  it("asks a dead unit less often, so that it costs the others little", async () => {
    await bus.plugIn({ unit: 1, registers: { 1: 111 } });
    bench = new ModbusBench({ path: bus.port }, { everyMs: 1_000 });
    bench.start(temperature(1), temperature(7), temperature(8));
    await bench.untilCounted("no answer", 6);
    bus.forget();
    bench.taken = [];
    await bench.rounds(9);
    const asked = (unit: string) => bus.heard().filter((request) => request.startsWith(unit)).length;
    expect(bench.values("unit-1").length).toBeGreaterThanOrEqual(7);
    for (const dead of ["07", "08"]) {
      expect(asked(dead)).toBeGreaterThanOrEqual(2);
      expect(asked(dead)).toBeLessThanOrEqual(3);
    }
    expect(bench.state()).toBe("receiving; unit 7 does not answer; unit 8 does not answer");
  });

  it("takes no late answer for the answer to a later question", async () => {
    // Both registers are asked for alike. The answer for 20 comes in the next round, while the one for 1 is awaited.
    bench = new ModbusBench({ path: bus.port }, { everyMs: 800 });
    const lateMs = { 1: 0.6 * bench.timeoutMs, 20: bench.everyMs - 100 };
    await bus.plugIn(
      { unit: 1, registers: { 1: 111, 20: 999 }, how: "late", lateMs },
      { unit: 8, registers: { 1: 222 } },
    );
    const registers = [
      { sensor: "near", address: 1 },
      { sensor: "far", address: 20 },
    ];
    bench.start({ unit: 1, registers }, temperature(8));
    await vi.waitFor(() => expect(bench.counters()["no answer"] ?? 0).toBeGreaterThanOrEqual(3), patience);
    await vi.waitFor(() => expect(bench.values("near").length).toBeGreaterThanOrEqual(3), patience);
    expect(new Set(bench.values("near"))).toEqual(new Set([11.1]));
    expect(new Set(bench.values("far"))).toEqual(new Set());
    expect(new Set(bench.values("unit-8"))).toEqual(new Set([22.2]));
    await bus.script({ unit: 1, registers: { 1: 112, 20: 888 } });
    await bench.untilRead("far", 88.8);
    expect(new Set(bench.values("near"))).toEqual(new Set([11.2]));
  });

  it("asks no other unit before a late answer has run out and the bus is quiet", async () => {
    const lateMs = bench.timeoutMs + 15;
    await bus.plugIn(
      { unit: 1, registers: { 1: 111 } },
      { unit: 8, registers: { 1: 222 }, how: "late", lateMs: { 1: lateMs } },
      { unit: 9, registers: { 1: 333 } },
    );
    bench.start(temperature(1), temperature(8), temperature(9));
    await vi.waitFor(() => expect(bench.taken.length).toBeGreaterThanOrEqual(2), patience);
    const [one, other] = bench.taken;
    expect([one?.sensor, other?.sensor]).toEqual(["unit-1", "unit-9"]);
    expect((other?.atMs ?? 0) - (one?.atMs ?? 0)).toBeGreaterThanOrEqual(lateMs + 20);
  });

  it("stamps each unit's values when it has answered, not when the round is over", async () => {
    await bus.plugIn(
      { unit: 1, registers: { 1: 111 } },
      { unit: 8, registers: { 1: 222 }, how: "late", lateMs: { 1: 0.5 * bench.timeoutMs } },
    );
    bench.start(temperature(1), temperature(8));
    await vi.waitFor(() => expect(bench.taken.length).toBeGreaterThanOrEqual(2), patience);
    const [one, other] = bench.taken;
    expect([one?.sensor, other?.sensor]).toEqual(["unit-1", "unit-8"]);
    expect((other?.atMs ?? 0) - (one?.atMs ?? 0)).toBeGreaterThanOrEqual(0.5 * bench.timeoutMs - 5);
  });

  it("reads the other registers of a unit that refuses one", async () => {
    await bus.plugIn({ unit: 1, registers: { 20: 200 } });
    const registers = [
      { sensor: "near", address: 1 },
      { sensor: "far", address: 20 },
    ];
    bench.start({ unit: 1, registers });
    await bench.untilRead("far", 20);
    await bench.untilState("receiving; unit 1 answers exception 2 (illegal data address)");
    expect(bench.counters()["no answer"]).toBeUndefined();
  });
});
