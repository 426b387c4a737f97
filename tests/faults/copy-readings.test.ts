/** A shop's readings moved to InfluxDB and back by the compiled program, and what it says where a copy is not whole. */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { copyReadingsHere } from "../../copy-readings-here.ts";
import { openInfluxStore } from "../../predictor/readings/influx.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import { rollUpMs, type Series, type StoredReading } from "../../predictor/readings/store.ts";
import { WaitingFile } from "../../predictor/readings/waiting-file.ts";
import { startInflux, type TestInflux } from "../influxd.ts";

const program = resolve(import.meta.dirname, "../../dist/main.js");
const minuteMs = 60_000;
const fromMs = Date.parse("2026-03-02T20:00:00Z");
const air: Series = { collector: "pi", sensor: "mast", quantity: "air-temperature" };
const humidity: Series = { ...air, quantity: "air-humidity" };

const folder = mkdtempSync(join(tmpdir(), "coatclock-copy-"));
const data = join(folder, "data");
const shop = join(folder, "shop.yaml");
let influx: TestInflux;
const far = () => openInfluxStore({ url: influx.url, database: "coatclock", shop: "moved" });

beforeAll(async () => {
  influx = await startInflux();
  mkdirSync(data);
  writeFileSync(
    shop,
    `{ shop: moved, name: Invented shop, invented: true, timeZone: Etc/UTC, store: { kind: influx, url: "${influx.url}" },
       places: { yard: { name: Yard, kind: yard, sensors: { air-temperature: pi/mast } } }, collectors: { pi: { elsewhere: true, sensors: [mast] } } }`,
  );
  const store = openSqliteStore(join(data, "readings.db"));
  // Over midnight; the first five hours are rolled up, and something of them came late.
  const readings = Array.from({ length: 600 }, (_, n): StoredReading => {
    const mark = n % 50 === 7 ? { mark: { quality: "bad", why: "spike" } as const } : {};
    return { ...(n % 2 === 0 ? air : humidity), atMs: fromMs + n * minuteMs, value: 20 + Math.sin(n) / 3, ...mark };
  });
  await store.append(readings);
  while ((await store.rollUp(fromMs + 300 * minuteMs)) > 0);
  await store.append([{ ...air, atMs: fromMs - rollUpMs, value: 18.25 }]);
  await store.close();
});
afterAll(async () => {
  await influx.end();
  rmSync(folder, { recursive: true, force: true });
});

async function run(dataFolder: string, ...args: string[]): Promise<{ status: number | null; output: string }> {
  const child = spawn(process.execPath, [program, "--shop", shop, ...args], {
    env: { ...process.env, COATCLOCK_DATA: dataFolder },
  });
  let output = "";
  for (const stream of [child.stdout, child.stderr]) stream.on("data", (chunk: Buffer) => (output += chunk.toString()));
  await once(child, "close");
  return { status: child.exitCode, output };
}

it("copies readings and roll-ups to InfluxDB, a second time with the same end, and to another machine from there", async () => {
  const first = await run(data, "--copy-readings", "sqlite", "influx");
  expect(first.output).toMatch(
    /same +pi\/mast\/air-temperature: 151 readings, sum [\d.]+, \d+ marked; 60 five minutes of 150,/,
  );
  expect(first).toMatchObject({ status: 0, output: expect.stringContaining("2 series are the same in both") });
  const said = vi.spyOn(console, "log").mockReturnValue();
  await copyReadingsHere(shop, "influx", data);
  expect(said.mock.calls.join("\n")).toContain("2 series are the same in both");
  const sqlite = openSqliteStore(join(data, "readings.db"));
  const influxStore = await far();
  for (const series of [air, humidity]) {
    const span = [series, fromMs - 10 * minuteMs, fromMs + 700 * minuteMs] as const;
    expect(await influxStore.range(...span)).toEqual(await sqlite.range(...span));
  }
  await sqlite.close();

  const other = join(folder, "other");
  mkdirSync(other);
  const waiting = new WaitingFile(join(other, "readings-waiting.db"));
  waiting.add([{ ...air, atMs: fromMs + 601 * minuteMs, value: 21 }]);
  waiting.close();
  await copyReadingsHere(shop, "sqlite", other);
  expect(said.mock.calls.join("\n")).toContain("Write store: { kind: sqlite }");
  said.mockRestore();
  const copy = openSqliteStore(join(other, "readings.db"));
  expect(await copy.latest(air)).toEqual({ atMs: fromMs + 601 * minuteMs, value: 21 });
  await copy.close();
});

it("says on which days a copy is not what was copied, with exit code 3", async () => {
  const query = new URLSearchParams({
    db: "coatclock",
    q: `DELETE FROM readings WHERE quantity = 'air-humidity' AND time >= ${fromMs + 400 * minuteMs}ms`,
  });
  // Deleted and another value in its place: the copy leaves what is there alone, and finds it.
  expect((await fetch(`${influx.url}/query`, { method: "POST", body: query })).status).toBe(200);
  const line = `readings,shop=moved,collector=pi,sensor=mast,quantity=air-humidity value=99 ${fromMs + 401 * minuteMs}`;
  await fetch(`${influx.url}/write?db=coatclock&precision=ms`, { method: "POST", body: line });
  const { status, output } = await run(data, "--copy-readings", "sqlite", "influx");
  expect(output).toMatch(/same .*air-temperature: .*the copy holds 1 more/);
  expect(output).toContain("DIFFER  pi/mast/air-humidity: on 2026-03-03");
  expect(output).toContain("1 of 2 series differ");
  expect(status).toBe(3);
});

it("says what is missing, and that InfluxDB is away with exit code 1", async () => {
  await expect(copyReadingsHere(shop, "influx", join(folder, "nowhere"))).rejects.toThrow(/there are no readings in/);
  await influx.kill();
  expect(await run(data, "--copy-readings", "sqlite", "influx")).toMatchObject({
    status: 1,
    output: expect.stringMatching(/can't be reached/),
  });
});
