/** A predictor whose disk is full: a small file system that is filled and freed again, and the compiled program on it. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import mqtt, { type MqttClient } from "mqtt";
import { afterAll, beforeAll, expect, it } from "vitest";
import { packOf, topicsOf } from "../../collector/readings.ts";
import { firstSession } from "../journeys/program.ts";
import { freePort, killChild } from "./brokers.ts";

const program = resolve(import.meta.dirname, "../../dist/main.js");
const topics = topicsOf("faulty");
const folder = mkdtempSync(join(tmpdir(), "coatclock-full-"));
const small = join(folder, "small");
mkdirSync(small);
const isMounted = spawnSync("mount", ["-t", "tmpfs", "-o", "size=4m", "tmpfs", small]).status === 0;

let child: ChildProcess;
let base: string;
let cookie: string;
let client: MqttClient;
const receipts: string[] = [];

beforeAll(async () => {
  if (!isMounted) return;
  const port = await freePort();
  const httpPort = await freePort();
  writeFileSync(
    join(folder, "shop.yaml"),
    `{ shop: faulty, name: Invented shop, invented: true, timeZone: Etc/UTC, trustClock: true, broker: { kind: embedded, port: ${port} },
       places: { yard: { name: Yard, kind: yard, sensors: { air-temperature: pi/mast } } },
       collectors: { pi: { elsewhere: true, sensors: [mast] } } }`,
  );
  child = spawn(process.execPath, [program, "--shop", join(folder, "shop.yaml"), "--only", "predictor"], {
    env: { ...process.env, COATCLOCK_DATA: small, COATCLOCK_PORT: String(httpPort), COATCLOCK_LOG: "silent" },
    stdio: ["ignore", "pipe", "inherit"],
  });
  let output = "";
  child.stdout?.on("data", (chunk: Buffer) => {
    output += chunk.toString();
  });
  base = `http://127.0.0.1:${httpPort}`;
  while ((await health().catch(() => null)) === null || !output.includes("readings")) await delay(100);
  cookie = await firstSession(base, output);
  client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { protocolVersion: 4 });
  client.on("message", (_, payload) => void receipts.push(JSON.parse(payload.toString()).status));
  await client.subscribeAsync(topics.receipts("pi"), { qos: 1 });
}, 60_000);

afterAll(async () => {
  if (isMounted) {
    await client.endAsync(true);
    await killChild(child);
    spawnSync("umount", [small]);
  }
  rmSync(folder, { recursive: true, force: true });
});

async function health() {
  const response = await fetch(`${base}/api/health`);
  return (await response.json()) as {
    state: string;
    store: { fault: string | null };
    intake: { readingsStored: number };
  };
}

async function send(from: number, count: number): Promise<void> {
  for (let n = from; n < from + count; n += 1) {
    const reading = {
      sensor: "mast",
      quantity: "air-temperature",
      atMs: 1_700_000_000_000 + n * 1000,
      value: 20,
    } as const;
    await client.publishAsync(topics.readings("pi"), JSON.stringify(packOf("pi", [reading])), { qos: 1 });
  }
}

/** Fills what is left, to the last block. */
function fill(): void {
  for (let size = 1024 * 1024; size >= 512; size /= 2) {
    for (let n = 0; ; n += 1) {
      try {
        writeFileSync(join(small, `filling-${size}-${n}`), Buffer.alloc(size), { flag: "wx" });
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code !== "ENOSPC") throw error;
        break;
      }
    }
  }
}

it.skipIf(!isMounted)(
  "says that the disk is full, receipts nothing, refuses entries whole, and stores what waited once there is room (skipped where mounting is not allowed)",
  async () => {
    const car = { job: "J-1", name: "Grey van", place: "yard", panels: [{ name: "bonnet", substrate: "steel" }] };
    const post = (job: string) =>
      fetch(`${base}/api/cars`, {
        method: "POST",
        headers: { "content-type": "application/json", cookie },
        body: JSON.stringify({ ...car, job }),
      });
    await send(0, 10);
    await expect.poll(() => receipts.length).toBe(10);
    expect((await post("before")).ok).toBe(true);

    fill();
    await send(10, 2_000);
    await expect.poll(async () => (await health()).store.fault).toContain("full");
    const answered = receipts.length;
    const refused = await post("meanwhile");
    expect(refused.status).toBeGreaterThanOrEqual(500);
    expect(await refused.text()).toMatch(/full/i);
    expect((await health()).state).toBe("attention");
    await expect
      .poll(async () => {
        const view = (await (await fetch(`${base}/api/places/yard/wall`)).json()) as { warnings: { rule: string }[] };
        return view.warnings.map(({ rule }) => rule);
      })
      .toContain("store");
    expect(receipts.length).toBe(answered);

    spawnSync("bash", ["-c", `rm -f ${small}/filling-*`]);
    await expect.poll(() => receipts.length, { timeout: 30_000 }).toBe(2_010);
    expect(new Set(receipts)).toEqual(new Set(["stored"]));
    expect(await health()).toMatchObject({ store: { fault: null }, intake: { readingsStored: 2_010 } });
    expect((await post("afterwards")).ok).toBe(true);
    const cars = (await (await fetch(`${base}/api/cars`)).json()) as { cars: { job: string }[] };
    expect(cars.cars.map(({ job }) => job).sort()).toEqual(["afterwards", "before"]);
  },
  90_000,
);
