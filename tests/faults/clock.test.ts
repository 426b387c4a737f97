/** Collectors whose machine has a wrong clock: real processes, told a false time by libfaketime, through a real broker. */
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import mqtt, { type MqttClient } from "mqtt";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { type CollectorState, packDigest, senmlPackSchema, topicsOf } from "../../collector/readings.ts";
import { serialLine } from "../../collector/sources/serial-line.ts";
import { brokerKinds, freePort, killChild, type TestBroker } from "./brokers.ts";
import { SerialCable } from "./serial-cable.ts";

const topics = topicsOf("faulty");
const collector = "yard-pi";
const library = ["/usr/lib/x86_64-linux-gnu", "/usr/lib/aarch64-linux-gnu", "/usr/lib/arm-linux-gnueabihf"]
  .map((folder) => join(folder, "faketime/libfaketime.so.1"))
  .find(existsSync);

let folder: string;
let cable: SerialCable;
let broker: TestBroker;
let url: string;
let predictor: MqttClient;
let state: CollectorState | undefined;
/** Instants by value, as they reached the broker. */
let received: Map<number, number[]>;
let running: ChildProcess | undefined;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-clock-"));
  cable = await SerialCable.plugIn(folder);
  mkdirSync(join(folder, "timesync"));
  const kind = brokerKinds.find((each) => each.protocolVersion === 5);
  const port = await freePort();
  if (kind === undefined) throw new Error("no broker of MQTT 5");
  broker = await kind.start(port);
  url = `mqtt://127.0.0.1:${port}`;
  received = new Map();
  state = undefined;
  predictor = await mqtt.connectAsync(url, { protocolVersion: 5 });
  predictor.on("message", (topic, payload) => {
    if (topic === topics.collectors(collector)) {
      state = JSON.parse(payload.toString()) as CollectorState;
      return;
    }
    const pack = senmlPackSchema.parse(JSON.parse(payload.toString()));
    const base = pack[0]?.bt ?? Number.NaN;
    for (const { v = Number.NaN, t = 0 } of pack) received.set(v, [...(received.get(v) ?? []), (base + t) * 1000]);
    const receipt = JSON.stringify({ pack: packDigest(payload), status: "stored" });
    predictor.publish(topics.receipts(collector), receipt, { qos: 1 });
  });
  await predictor.subscribeAsync([topics.allReadings, topics.allCollectors], { qos: 1 });
});

afterEach(async () => {
  if (running !== undefined) await killChild(running);
  await predictor.endAsync(true);
  await broker.kill();
  await cable.unplug();
  rmSync(folder, { recursive: true, force: true });
});

/** Starts the collector, and waits for its port: what was sent before it is opened is lost. It sees the wall clock off by what `tellTime` has written, and the monotonic clock as it is. */
async function start(): Promise<void> {
  if (library === undefined) throw new Error("libfaketime is missing: install the Debian package faketime");
  const settings = { collector, url, port: cable.port, folder, timesyncFolder: join(folder, "timesync") };
  const program = resolve(import.meta.dirname, "collector-alone.mjs");
  running = spawn(process.execPath, [program, JSON.stringify(settings)], {
    env: {
      ...process.env,
      LD_PRELOAD: library,
      FAKETIME_TIMESTAMP_FILE: join(folder, "faketime"),
      FAKETIME_NO_CACHE: "1",
      FAKETIME_DONT_FAKE_MONOTONIC: "1",
    },
    stdio: ["ignore", "ignore", "inherit"],
  });
  state = undefined;
  await expect.poll(() => state?.sources[0]?.state, { timeout: 15_000 }).toBe("open, nothing valid yet");
}

const tellTime = (offset: string) => writeFileSync(join(folder, "faketime"), `${offset}\n`);
const synchronise = () => writeFileSync(join(folder, "timesync", "synchronized"), "");
const heardOf = (clock: CollectorState["clock"]) => expect.poll(() => state?.clock, { timeout: 15_000 }).toBe(clock);

/** Sends a value over the line and gives back when, by the right clock. */
function measure(value: number): { value: number; atMs: number } {
  cable.send(serialLine("mast", [["air-temperature", value]]));
  return { value, atMs: Date.now() };
}

async function expectInstants(sent: readonly { value: number; atMs: number }[], withinMs: number): Promise<void> {
  await expect
    .poll(() => [...received.keys()].sort((a, b) => a - b), { timeout: 20_000 })
    .toEqual(sent.map(({ value }) => value));
  for (const { value, atMs } of sent) {
    expect(received.get(value)).toHaveLength(1);
    expect(Math.abs((received.get(value)?.[0] ?? Number.NaN) - atMs)).toBeLessThan(withinMs);
  }
}

describe("a collector whose clock is wrong", () => {
  it("sends nothing until its clock is synchronised, through a kill too, and then every reading under its right instant", async () => {
    tellTime("-400d");
    await start();
    await heardOf("unsynchronised");
    const sent = [measure(1)];
    await expect.poll(() => state?.undatedPacks, { timeout: 15_000 }).toBe(1);
    sent.push(measure(2));
    await delay(500);
    if (running !== undefined) await killChild(running);
    await start();
    await heardOf("unsynchronised");
    sent.push(measure(3));
    expect(received.size).toBe(0);
    tellTime("+0");
    synchronise();
    await heardOf("synchronised");
    sent.push(measure(4));
    await expectInstants(sent, 1_500);
  }, 120_000);

  it("takes the predictor's time where it has none of its own", async () => {
    tellTime("-30y");
    await start();
    await heardOf("unsynchronised");
    const sent = [measure(1)];
    const telling = setInterval(() => {
      predictor.publish(topics.time, JSON.stringify({ at: new Date().toISOString(), believed: true }));
    }, 200);
    await heardOf("by predictor");
    sent.push(measure(2));
    await expectInstants(sent, 1_500);
    clearInterval(telling);
  }, 60_000);

  it.each(["-2h", "+3d"])(
    "gives no reading a false instant when its clock jumps by %s and back",
    async (jump) => {
      tellTime("+0");
      synchronise();
      await start();
      await heardOf("synchronised");
      const sent = [measure(1)];
      await expect.poll(() => received.size, { timeout: 10_000 }).toBe(1);
      tellTime(jump);
      await heardOf("jumped");
      sent.push(measure(2), measure(3));
      tellTime("+0");
      await heardOf("synchronised");
      sent.push(measure(4));
      await expectInstants(sent, 1_500);
    },
    60_000,
  );
});
