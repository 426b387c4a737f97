import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Reading } from "../readings.ts";
import type { RehearsalSettings } from "../settings.ts";
import { RehearsalSource } from "./rehearsal.ts";
import { inventedRoom } from "./rehearsal-rooms.ts";
import type { Outlet } from "./source.ts";

const zone = "Europe/Berlin";
const settings: RehearsalSettings = {
  kind: "rehearsal",
  room: "booth",
  sensor: "booth-1",
  everySeconds: 5,
  pastHours: 2,
  seed: 4,
};
const nowMs = Date.UTC(2026, 10, 3, 10, 0, 2);
let put: { readings: readonly Reading[]; urgency: string }[];
let outlet: Outlet;
let source: RehearsalSource;

beforeEach(() => {
  vi.useFakeTimers({ now: nowMs, toFake: ["Date"] });
  put = [];
  outlet = {
    measured: () => expect.unreachable("its instants are its own"),
    put: (readings, urgency) => void put.push({ readings, urgency }),
    room: async () => undefined,
  };
});
afterEach(async () => {
  await source.stop();
  vi.useRealTimers();
});

function start(sendPast: boolean, changes: Partial<RehearsalSettings> = {}): void {
  const logger = pino({ level: "silent" });
  source = new RehearsalSource({ ...settings, ...changes }, { baseFolder: ".", shopZone: zone, sendPast, logger });
  source.start(outlet);
}

const instantsOf = (urgency: string) => [
  ...new Set(
    put.filter((one) => one.urgency === urgency).flatMap((one) => one.readings.map((reading) => reading.atMs)),
  ),
];

describe("RehearsalSource", () => {
  it("sends its past every half minute up to now, as backlog, and then invents the present", async () => {
    start(true);
    await vi.waitFor(() => expect(source.state().state).toBe("inventing"), 15_000);
    const instants = instantsOf("backlog");
    expect(instants).toHaveLength(240);
    expect(instants[0]).toBe(nowMs - 2 * 3_600_000 - 2000 + 30_000);
    expect(instants.at(-1)).toBe(nowMs - 2000);
    expect(instants.every((atMs, n) => n === 0 || atMs - (instants[n - 1] ?? 0) === 30_000)).toBe(true);
  });

  it("sends no past where the store already has one", async () => {
    start(false);
    await vi.waitFor(() => expect(source.state().state).toBe("inventing"), 15_000);
    expect(put).toEqual([]);
  });

  it("puts live readings of all the room's quantities at whole multiples of its interval, on the room's own curve", async () => {
    vi.useRealTimers();
    start(false, { everySeconds: 0.2 });
    await vi.waitFor(() => expect(instantsOf("live").length).toBeGreaterThanOrEqual(3), 5000);
    const room = inventedRoom({ room: "booth", sensor: "booth-1", seed: 4, zone });
    for (const { readings, urgency } of put) {
      const atMs = readings[0]?.atMs ?? Number.NaN;
      expect(urgency).toBe("live");
      expect(atMs % 200).toBe(0);
      expect(readings.map((reading) => [reading.quantity, reading.value])).toEqual(room.read(atMs));
      expect(readings.map((reading) => reading.quantity)).toEqual([
        "air-temperature",
        "air-humidity",
        "panel-temperature",
        "air-speed",
      ]);
    }
    expect(instantsOf("live")).toHaveLength(put.length);
  });

  it("gives no instant twice when its timer fires early by the wall clock", async () => {
    start(false, { everySeconds: 0.1 });
    // Not vi.waitFor, which moves the faked clock on.
    while (put.length < 2) await delay(10);
    expect(put.slice(0, 2).map(({ readings }) => readings[0]?.atMs)).toEqual([nowMs + 100, nowMs + 200]);
  });

  it("stops at once, also in the middle of its past", async () => {
    const waiting: (() => void)[] = [];
    outlet.room = () => new Promise((admitted) => waiting.push(admitted));
    start(true);
    await vi.waitFor(() => expect(put).toHaveLength(1), 15_000);
    const stopped = source.stop();
    waiting.shift()?.();
    await stopped;
    expect(put).toHaveLength(1);
    expect(source.state().state).toBe("stopped");
  });
});
