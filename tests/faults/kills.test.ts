/** Collector, broker and predictor, each a process of its own, killed at any moment while readings flow. */
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { setTimeout as delay } from "node:timers/promises";
import Database from "better-sqlite3";
import { afterAll, afterEach, beforeEach, expect, it } from "vitest";
import { brokerKinds, freePort, killChild, lastingMosquitto, type TestBroker } from "./brokers.ts";

/** Of each process; `npm run soak -- --faults` asks for 200. */
const kills = Number(process.env.COATCLOCK_KILLS ?? 5);
const everyMs = 5;
const program = resolve(import.meta.dirname, "../../dist/main.js");
const counter = resolve(import.meta.dirname, "counting-collector.mjs");

let folder: string;
const children = new Map<"collector" | "predictor", ChildProcess>();

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-kills-"));
  mkdirSync(join(folder, "outbox"));
});
afterEach(async () => {
  for (const child of children.values()) await killChild(child);
  children.clear();
  rmSync(folder, { recursive: true, force: true });
});

const lastingFolder = mkdtempSync(join(tmpdir(), "coatclock-lasting-"));
afterAll(() => rmSync(lastingFolder, { recursive: true, force: true }));

it.each([...brokerKinds.filter(({ name }) => name.startsWith("mosquitto")), lastingMosquitto(lastingFolder)])(
  `loses and doubles nothing while $name, the collector and the predictor are killed ${kills} times each`,
  async ({ protocolVersion, start }) => {
    const port = await freePort();
    const url = `mqtt://127.0.0.1:${port}`;
    let broker: TestBroker = await start(port);
    let counted = 0;
    /** The last number that was told before each kill: the next may have been read and kept, and is then read once more. */
    const lastTold = new Set<number>();
    const protocol = protocolVersion === 5 ? "5" : "3.1.1";
    writeFileSync(
      join(folder, "shop.yaml"),
      `{ shop: faulty, name: Invented shop, invented: true, timeZone: Etc/UTC, broker: { kind: address, url: "${url}", protocol: "${protocol}" },
         places: { yard: { name: Yard, kind: yard, sensors: { air-temperature: played/mast } } },
         collectors: { played: { elsewhere: true, sensors: [mast] } } }`,
    );
    const startCollector = () => {
      const settings = { url, protocolVersion, folder: join(folder, "outbox"), from: counted + 1, everyMs };
      const child = spawn(process.execPath, [counter, JSON.stringify(settings)], {
        stdio: ["ignore", "pipe", "inherit"],
      });
      createInterface({ input: child.stdout }).on("line", (line) => {
        counted = Math.max(counted, Number(line));
      });
      children.set("collector", child);
    };
    const startPredictor = () => {
      const child = spawn(process.execPath, [program, "--shop", join(folder, "shop.yaml"), "--only", "predictor"], {
        env: { ...process.env, COATCLOCK_DATA: join(folder, "data"), COATCLOCK_PORT: "0", COATCLOCK_LOG: "silent" },
        stdio: ["ignore", "ignore", "inherit"],
      });
      children.set("predictor", child);
    };
    const kill = async (which: "collector" | "predictor") => {
      const child = children.get(which);
      if (child !== undefined) await killChild(child);
      // What was printed before the kill is still on its way through the pipe.
      await delay(50);
      if (which === "collector") lastTold.add(counted);
    };

    startCollector();
    startPredictor();
    for (let n = 0; n < kills; n += 1) {
      await delay(400 + 800 * Math.random());
      await kill("collector");
      startCollector();
      await delay(400 + 800 * Math.random());
      await kill("predictor");
      startPredictor();
      await delay(200 + 400 * Math.random());
      await broker.kill();
      await delay(100 * Math.random());
      broker = await start(port);
    }
    await delay(1_000);
    await kill("collector");
    const all = counted;
    // Else nothing flowed, and this shows nothing.
    expect(all).toBeGreaterThan(kills * 40);
    startCollector();

    const stored = () => timesStored(join(folder, "data", "readings.db"));
    const missing = () => {
      const times = stored();
      return Array.from({ length: all }, (_, n) => n + 1).filter((number) => !times.has(number));
    };
    await expect.poll(missing, { timeout: 60_000, interval: 250 }).toEqual([]);
    const doubled = [...stored()].filter(([number, times]) => times > (lastTold.has(number - 1) ? 2 : 1));
    expect(doubled).toEqual([]);
    await broker.kill();
  },
  kills * 4_000 + 120_000,
);

/** How often each number is in the store. */
function timesStored(file: string): Map<number, number> {
  if (!existsSync(file)) return new Map();
  const database = new Database(file, { readonly: true });
  try {
    const rows = database.prepare<[], number>("SELECT value - 50000 FROM readings").pluck().all();
    const times = new Map<number, number>();
    for (const number of rows) times.set(number, (times.get(number) ?? 0) + 1);
    return times;
  } finally {
    database.close();
  }
}
