/** The serial source on a real pseudo-terminal pair, made by socat: one end is the port, the other the microcontroller. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { SerialSettings } from "../../collector/settings.ts";
import { SerialSource } from "../../collector/sources/serial.ts";
import { serialLine } from "../../collector/sources/serial-line.ts";
import type { Measurement } from "../../collector/sources/source.ts";
import { SerialCable } from "./serial-cable.ts";

const patience = { timeout: 15_000, interval: 20 };
const good = (value: number) => serialLine("bay-2", [["air-temperature", value]]);

let folder: string;
let cable: SerialCable | undefined;
let source: SerialSource;
let readings: Measurement[];
let warnings: string[];

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-serial-"));
  readings = [];
  warnings = [];
  await plugIn();
});

afterEach(async () => {
  await source.stop();
  await unplug();
  rmSync(folder, { recursive: true, force: true });
});

async function plugIn(): Promise<void> {
  cable = await SerialCable.plugIn(folder);
}

async function unplug(): Promise<void> {
  await cable?.unplug();
  cable = undefined;
}

function send(bytes: string | Uint8Array): void {
  if (cable === undefined) throw new Error("unplugged");
  cable.send(bytes);
}

const serialSettings: SerialSettings = {
  kind: "serial",
  path: "",
  baud: 9600,
  dataBits: 8,
  parity: "none",
  stopBits: 1,
  sensors: ["bay-2"],
  silenceSeconds: 30,
};

function startSource(changes: Partial<SerialSettings> = {}): void {
  const logger = pino({ level: "warn" }, { write: (line: string) => warnings.push(JSON.parse(line).msg) });
  const path = join(folder, "port");
  source = new SerialSource(
    { ...serialSettings, path, ...changes },
    { baseFolder: folder, shopZone: "UTC", sendPast: false, logger },
  );
  source.start({
    measured: (more) => void readings.push(...more),
    put: () => expect.unreachable("a serial line knows no instants of its own"),
    room: async () => undefined,
  });
}

const values = () => readings.map((reading) => reading.value);
const counters = () => source.state().counters;
const untilOpen = () => vi.waitFor(() => expect(counters().opened).toBe(1), patience);

describe("SerialSource on a pseudo-terminal", () => {
  it("gives on the values of good lines", async () => {
    startSource();
    await untilOpen();
    send(
      serialLine("bay-2", [
        ["air-temperature", 21.5],
        ["air-humidity", 54.2],
      ]),
    );
    await vi.waitFor(() => expect(readings).toHaveLength(2), patience);
    expect(readings).toMatchObject([
      { sensor: "bay-2", quantity: "air-temperature", value: 21.5 },
      { sensor: "bay-2", quantity: "air-humidity", value: 54.2 },
    ]);

    expect(source.state()).toEqual({ state: "receiving", counters: { opened: 1, lines: 1 } });
  });

  it("joins a line that comes in pieces and splits lines that come together", async () => {
    startSource();
    await untilOpen();
    const line = good(1);
    for (const piece of [line.slice(0, 5), line.slice(5, 20), line.slice(20)]) {
      send(piece);
      await new Promise((later) => setTimeout(later, 50));
    }
    send(good(2) + good(3).replace("\n", "\r\n"));
    await vi.waitFor(() => expect(values()).toEqual([1, 2, 3]), patience);
    expect(counters()).toEqual({ opened: 1, lines: 3 });
  });

  it("counts by kind and skips half lines, noise, wrong checks, overlong lines, strangers and NaN, and takes the next good line", async () => {
    startSource();
    await untilOpen();
    send(`${good(1).slice(10)}`);
    send(`${good(2).slice(0, 20)}\n`);
    send(Uint8Array.from([0xff, 0x00, 0x9c, 0x1b, 0x0a]));
    send(good(21.5).replace("21.5", "27.5"));
    send(`${"x".repeat(400)}\n`);
    send(serialLine("bay-9", [["air-temperature", 3]]));
    send(serialLine("bay-2", [["air-temperature", Number.NaN]]));
    send(good(7));
    await vi.waitFor(() => expect(values()).toEqual([7]), patience);
    expect(counters()).toEqual({
      opened: 1,
      lines: 1,
      "wrong check": 2,
      "no check": 1,
      noise: 1,
      "line too long": 1,
      "unknown sensor": 1,
      "bad value": 1,
    });
  });

  it("opens the port again after silence, and hears the device when it speaks again", async () => {
    startSource({ silenceSeconds: 1 });
    await untilOpen();
    send(good(1));
    await vi.waitFor(() => expect(values()).toEqual([1]), patience);
    await vi.waitFor(() => expect(source.state().state).toBe("silent, opening again"), patience);
    await vi.waitFor(() => expect(counters().opened).toBeGreaterThanOrEqual(2), patience);
    send(good(2));
    await vi.waitFor(() => expect(values()).toEqual([1, 2]), patience);
    expect(source.state().state).toBe("receiving");
  });

  it("takes noise without a good line for silence", async () => {
    startSource({ silenceSeconds: 1 });
    await untilOpen();
    const noise = setInterval(() => send("\u00ff\u00fe garbage\n"), 100);
    try {
      await vi.waitFor(() => expect(source.state().state).toBe("silent, opening again"), patience);
    } finally {
      clearInterval(noise);
    }
    expect(readings).toEqual([]);
  });

  it("says so when the port is pulled out, and goes on when it is plugged in again", async () => {
    startSource();
    await untilOpen();
    send(good(1));
    await vi.waitFor(() => expect(values()).toEqual([1]), patience);
    await unplug();
    await vi.waitFor(() => expect(source.state().state).toContain("trying again"), patience);
    await plugIn();
    await vi.waitFor(() => expect(counters().opened).toBe(2), patience);
    send(good(2));
    await vi.waitFor(() => expect(values()).toEqual([1, 2]), patience);
  });

  it("waits for a port that is not there yet", async () => {
    await unplug();
    startSource();
    await vi.waitFor(() => expect(source.state().state).toMatch(/^cannot open, trying again: .*port/), patience);
    await plugIn();
    await untilOpen();
    send(good(1));
    await vi.waitFor(() => expect(values()).toEqual([1]), patience);
  });

  it("warns of a port name that may change hands", async () => {
    startSource();
    await untilOpen();
    expect(warnings.join()).toContain("/dev/serial/by-id/");
  });

  it.each([
    ["listening", async () => untilOpen()],
    [
      "waiting for a missing port",
      async () => void (await vi.waitFor(() => expect(source.state().state).toContain("cannot open"), 15_000)),
    ],
  ])("stops while %s, and takes nothing more", async (what, until) => {
    if (what !== "listening") await unplug();
    startSource();
    await until();
    await source.stop();
    if (what === "listening") send(good(1));
    await new Promise((later) => setTimeout(later, 100));
    expect(readings).toEqual([]);
    expect(source.state().state).toBe("stopped");
  });
});
