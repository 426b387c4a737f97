import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Reading } from "../readings.ts";
import type { PlaybackSettings } from "../settings.ts";
import { collectorSchema } from "../settings.ts";
import { PlaybackSource } from "./playback.ts";
import { instantReader } from "./playback-rows.ts";
import type { Outlet } from "./source.ts";

const measured = () => expect.unreachable("its instants are its own");
let folder: string;
let logged: Record<string, unknown>[];
let playing: PlaybackSource[];
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-playback-"));
  logged = [];
  playing = [];
});
afterEach(async () => {
  await Promise.all(playing.map((source) => source.stop()));
  rmSync(folder, { recursive: true });
});

const usual = {
  kind: "playback",
  file: "air.csv",
  time: { column: "at", format: "yyyy-MM-dd HH:mm:ss" },
  columns: [{ column: "temp", sensor: "hall", quantity: "air-temperature" }],
  speed: "all",
};

function sourceOf(csv: string, changes: Record<string, unknown> = {}): PlaybackSource {
  writeFileSync(join(folder, "air.csv"), csv);
  const settings = collectorSchema.parse({ sources: [{ ...usual, ...changes }] }).sources[0] as PlaybackSettings;
  const logger = pino({ level: "info" }, { write: (line: string) => logged.push(JSON.parse(line)) });
  const source = new PlaybackSource(settings, {
    baseFolder: folder,
    shopZone: "Europe/Berlin",
    sendPast: false,
    logger,
  });
  playing.push(source);
  return source;
}

/** Collects what a source puts. */
function collecting() {
  const readings: Reading[] = [];
  const outlet: Outlet = { measured, put: (more) => void readings.push(...more), room: async () => undefined };
  return { readings, outlet };
}

async function played(source: PlaybackSource): Promise<Reading[]> {
  const { readings, outlet } = collecting();
  source.start(outlet);
  await vi.waitFor(() => expect(source.state().state).toMatch(/^(finished|failed)/), 10_000);
  return readings;
}

describe("instantReader", () => {
  it.each([
    ["iso", "2026-11-03T10:00:00+01:00", "2026-11-03T09:00:00Z"],
    ["iso", "2026-11-03T10:00:00", "2026-11-03T09:00:00Z"],
    ["unix-seconds", "1700000000.5", "2023-11-14T22:13:20.500Z"],
    ["unix-milliseconds", "1700000000500", "2023-11-14T22:13:20.500Z"],
    ["yyyy-MM-dd HH:mm:ss", "2026-07-03 10:00:00", "2026-07-03T08:00:00Z"],
    ["d MMM yyyy h:mm a", "3 Jul 2026 1:05 PM", "2026-07-03T11:05:00Z"],
  ])("reads %s %s in the zone's own time where the text has no offset", (format, text, expected) => {
    expect(instantReader(format, "Europe/Berlin")(text)).toBe(Date.parse(expected));
  });

  it.each([
    ["iso", "yesterday"],
    ["iso", ""],
    ["unix-seconds", ""],
    ["unix-seconds", "1700000000500"],
    ["unix-milliseconds", "1700000000"],
    ["yyyy-MM-dd HH:mm:ss", "2026-07-03"],
    ["yyyy-MM-dd HH:mm:ss", "2026-13-03 10:00:00"],
  ])("gives NaN for %s %j, which is another format or outside 1978 to 2100", (format, text) => {
    expect(instantReader(format, "Europe/Berlin")(text)).toBeNaN();
  });

  it("takes the hour that comes twice in autumn for the pass that follows the row before, whenever the program runs", () => {
    const read = instantReader("yyyy-MM-dd HH:mm:ss", "Europe/Berlin");
    const first = Date.parse("2026-10-25T00:30:00Z");
    for (const runAt of ["2026-07-01", "2026-12-01"]) {
      vi.useFakeTimers({ now: Date.parse(runAt), toFake: ["Date"] });
      expect(read("2026-10-25 02:30:00")).toBe(first);
      expect(read("2026-10-25 02:30:00", first + 29 * 60_000)).toBe(first + 3_600_000);
      expect(read("2026-10-25 02:30:00", first + 7_200_000)).toBe(first);
      expect(instantReader("iso", "Europe/Berlin")("2026-10-25T02:30:00+01:00")).toBe(first + 3_600_000);
      vi.useRealTimers();
    }
  });

  it("takes a time that spring skips for the one an hour later", () => {
    const read = instantReader("yyyy-MM-dd HH:mm:ss", "Europe/Berlin");
    expect(read("2026-03-29 02:30:00")).toBe(Date.parse("2026-03-29T01:30:00Z"));
  });

  it("refuses a zone that does not exist", () => {
    expect(() => instantReader("iso", "Atlantis/Port")).toThrow("Atlantis/Port");
  });
});

describe("PlaybackSource", () => {
  it("puts every value at the file's own instant, by column name, and says that it has finished", async () => {
    const source = sourceOf("temp,at,rh\n20.5,2026-01-05 08:00:00,40\n21,2026-01-05 08:01:00,41\n", {
      columns: [...usual.columns, { column: "rh", sensor: "hall", quantity: "air-humidity" }],
    });
    const at = Date.parse("2026-01-05T07:00:00Z");
    expect(await played(source)).toEqual([
      { sensor: "hall", quantity: "air-temperature", atMs: at, value: 20.5 },
      { sensor: "hall", quantity: "air-humidity", atMs: at, value: 40 },
      { sensor: "hall", quantity: "air-temperature", atMs: at + 60_000, value: 21 },
      { sensor: "hall", quantity: "air-humidity", atMs: at + 60_000, value: 41 },
    ]);
    expect(source.state()).toEqual({ state: "finished", counters: { readings: 4 } });
  });

  it("reads a file whose rows start with a row number that the header does not name, and says so once", async () => {
    const source = sourceOf('"at","temp"\n"1","2026-01-05 08:00:00",20\n"2","2026-01-05 08:01:00",21\n');
    expect((await played(source)).map((reading) => reading.value)).toEqual([20, 21]);
    expect(logged.filter(({ msg }) => String(msg).includes("unnamed row number"))).toHaveLength(1);
  });

  it("counts and skips bad times, bad values, empty cells and rows of another length, with the line in the log", async () => {
    const rows = [
      "at,temp",
      "2026-01-05 08:00:00,20",
      "gestern,20",
      "2026-01-05 08:02:00,warm",
      "2026-01-05 08:03:00,",
    ];
    const source = sourceOf([...rows, "2026-01-05 08:04:00,20,1,2", "2026-01-05 08:05:00,1e999", ""].join("\r\n"));
    expect(await played(source)).toHaveLength(1);
    expect(source.state().counters).toEqual({
      readings: 1,
      "unreadable time": 1,
      "unreadable value": 2,
      "empty cell": 1,
      "wrong number of fields": 1,
    });
    expect(logged.find(({ msg }) => String(msg).includes("unreadable time"))).toMatchObject({
      line: 3,
      found: "gestern",
    });
  });

  it("logs the first three faults of a kind and counts the rest", async () => {
    const bad = Array.from({ length: 50 }, () => "2026-01-05 08:00:00,x").join("\n");
    const source = sourceOf(`at,temp\n2026-01-05 08:00:00,20\n${bad}\n`);
    await played(source);
    expect(source.state().counters["unreadable value"]).toBe(50);
    expect(logged.filter(({ msg }) => String(msg).startsWith("skipped: unreadable value"))).toHaveLength(3);
  });

  it("names the file, the missing column and the columns there are", async () => {
    const source = sourceOf("time,Temp\n2026-01-05 08:00:00,20\n", { time: { ...usual.time, column: "time" } });
    expect(await played(source)).toEqual([]);
    expect(source.state().state).toBe(
      `failed: ${join(folder, "air.csv")} has no column "temp"; its header names "time", "Temp"`,
    );
  });

  it.each([
    ["a missing file", { file: "no.csv" }, "at,temp\n", "no.csv"],
    ["an empty file", {}, "", "expected a header row"],
    [
      "a zone that does not exist",
      { time: { ...usual.time, zone: "Atlantis/Port" } },
      "at,temp\n",
      "no IANA time zone",
    ],
    ["a file of which no row fits", {}, "at,temp\nx,y\n", "no row of the file could be used"],
  ])("fails in clear words for %s", async (_, changes, csv, words) => {
    const source = sourceOf(csv, changes);
    expect(await played(source)).toEqual([]);
    expect(source.state().state).toMatch(/^failed: /);
    expect(source.state().state).toContain(words);
    expect(logged.some(({ level }) => level === 50)).toBe(true);
  });

  it("shifts instants so that the first row falls at the start of playing", async () => {
    const source = sourceOf("at,temp\n2026-01-05 08:00:00,20\n2026-01-05 08:01:00,21\n", { instants: "now" });
    const fromMs = Date.now();
    const readings = await played(source);
    expect(readings[0]?.atMs).toBeGreaterThanOrEqual(fromMs);
    expect(readings[0]?.atMs).toBeLessThanOrEqual(Date.now());
    expect((readings[1]?.atMs ?? 0) - (readings[0]?.atMs ?? 0)).toBe(60_000);
  });

  it("plays at the recorded pace times the speed, each row when it is due", async () => {
    const source = sourceOf("at,temp\n2026-01-05 08:00:00,20\n2026-01-05 08:00:10,21\n2026-01-05 08:00:20,22\n", {
      speed: 50,
    });
    const putAtMs: number[] = [];
    const startMs = performance.now();
    source.start({ measured, put: () => void putAtMs.push(performance.now() - startMs), room: async () => undefined });
    await vi.waitFor(() => expect(source.state().state).toBe("finished"), 5000);
    expect(putAtMs).toHaveLength(3);
    expect(putAtMs[1]).toBeGreaterThanOrEqual(199);
    expect(putAtMs[2]).toBeGreaterThanOrEqual(399);
  });

  it("reads no further ahead than one batch while the outlet has no room", async () => {
    const rows = Array.from({ length: 20_000 }, (_, n) => `${1_700_000_000 + n},20`).join("\n");
    const source = sourceOf(`at,temp\n${rows}\n`, { time: { column: "at", format: "unix-seconds" } });
    let put = 0;
    const waiting: (() => void)[] = [];
    const admit = () => waiting.shift()?.();
    source.start({
      measured,
      put: (readings) => {
        put += readings.length;
      },
      room: () => new Promise((admitted) => waiting.push(admitted)),
    });
    await vi.waitFor(() => expect(put).toBe(500), 15_000);
    await new Promise((later) => setTimeout(later, 100));
    expect(put).toBe(500);
    admit();
    await vi.waitFor(() => expect(put).toBe(1000), 15_000);
    const stopped = source.stop();
    admit();
    await stopped;
    expect(source.state().state).toBe("stopped");
  });

  it("stops at once in the middle of a long pause between rows", async () => {
    const source = sourceOf("at,temp\n2026-01-05 08:00:00,20\n2026-03-05 08:00:00,21\n", { speed: 1 });
    const { readings, outlet } = collecting();
    source.start(outlet);
    await vi.waitFor(() => expect(readings).toHaveLength(1), 15_000);
    await source.stop();
    expect(source.state().state).toBe("stopped");
  });

  const recorded = resolve("../shared/data/occupancy_datatraining.csv");
  it.skipIf(!existsSync(recorded))("plays the recorded office file: 8143 rows, none refused", async () => {
    const source = sourceOf("", {
      file: recorded,
      time: { column: "date", format: "yyyy-MM-dd HH:mm:ss", zone: "Europe/Brussels" },
      columns: [{ column: "Temperature", sensor: "hall", quantity: "air-temperature" }],
    });
    const readings = await played(source);
    expect(source.state()).toEqual({ state: "finished", counters: { readings: 8143 } });
    expect(readings[0]).toEqual({
      sensor: "hall",
      quantity: "air-temperature",
      atMs: Date.parse("2015-02-04T16:51:00Z"),
      value: 23.18,
    });
  });
});
