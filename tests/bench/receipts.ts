/** Pack → broker → committed → receipt, against the same packs through the same broker to a bare subscriber. */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import mqtt, { type MqttClient } from "mqtt";
import { pino } from "pino";
import { packOf, topicsOf } from "../../collector/readings.ts";
import { startEmbeddedBroker } from "../../predictor/readings/broker.ts";
import { Intake } from "../../predictor/readings/intake.ts";
import { linkBroker } from "../../predictor/readings/link.ts";
import { ofCollectors } from "../../predictor/readings/reading-of.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import { freePort } from "./child.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const packs = 10_000;
const inFlight = 500;
const runs = 3;
const topics = topicsOf("bench");
const startMs = Date.parse("2026-03-02T00:00:00Z");

/** About 200 bytes: two quantities of one sensor at one instant, each pack another instant. */
function payloads(run: number): string[] {
  return Array.from({ length: packs }, (_, n) => {
    const atMs = startMs + (run * packs + n) * 1000;
    return JSON.stringify(
      packOf("bench", [
        { sensor: "plenum", quantity: "air-temperature", atMs, value: 20.25 },
        { sensor: "plenum", quantity: "air-humidity", atMs, value: 51.5 },
      ]),
    );
  });
}

export async function receiptsBench(): Promise<BenchRow[]> {
  const embedded = await startEmbeddedBroker({
    shop: "bench",
    port: 0,
    listen: "this-machine",
    credentials: null,
    logger: pino({ level: "silent" }),
  });
  const rows = [await benchThrough("embedded broker", `mqtt://127.0.0.1:${embedded.port}`, 4)];
  await embedded.stop();
  const command = "/usr/sbin/mosquitto";
  if (!existsSync(command)) {
    console.error(
      `left out: ${command} is not installed, so pack → receipt was measured through the embedded broker only`,
    );
    return rows;
  }
  const port = await freePort();
  const child = spawn(command, ["-p", String(port)], { stdio: "ignore" });
  try {
    await delay(500);
    rows.push(await benchThrough("mosquitto", `mqtt://127.0.0.1:${port}`, 5));
  } finally {
    const gone = once(child, "exit");
    child.kill();
    await gone;
  }
  return rows;
}

async function benchThrough(name: string, url: string, protocolVersion: 4 | 5): Promise<BenchRow> {
  const bare: number[] = [];
  const whole: number[] = [];
  for (let run = 0; run < runs; run++) {
    bare.push(await toBareSubscriber(url, protocolVersion, payloads(run)));
    whole.push(await toReceipts(url, protocolVersion, payloads(run)));
  }
  return benchRow(
    {
      name: `pack → committed → receipt, ${name}`,
      floor: "the same packs at QoS 1 to a bare subscriber",
      floorValue: median(bare),
      value: median(whole),
      unit: "packs/s",
    },
    { least: 0.3 },
  );
}

async function toBareSubscriber(url: string, protocolVersion: 4 | 5, messages: string[]): Promise<number> {
  const receiver = await mqtt.connectAsync(url, { protocolVersion });
  await receiver.subscribeAsync(topics.allReadings, { qos: 1 });
  const sender = await mqtt.connectAsync(url, { protocolVersion });
  const rate = await rateOf(sender, messages, (arrived) => receiver.on("message", arrived));
  await sender.endAsync();
  await receiver.endAsync();
  return rate;
}

async function toReceipts(url: string, protocolVersion: 4 | 5, messages: string[]): Promise<number> {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-bench-"));
  const store = openSqliteStore(join(folder, "readings.db"));
  const logger = pino({ level: "silent" });
  const intake: Intake = new Intake({
    ...ofCollectors,
    store,
    logger,
    now: Date.now,
    isClockBelieved: () => true,
    onCommitted: () => undefined,
    sendReceipt: (...receipt) => link.sendReceipt(...receipt),
  });
  const link = linkBroker({
    shop: "bench",
    broker: { url, protocolVersion },
    logger,
    onPack: (...message) => intake.accept(...message),
  });
  while (!link.connected()) await delay(10);
  await delay(100);
  const sender = await mqtt.connectAsync(url, { protocolVersion });
  await sender.subscribeAsync(topics.receipts("bench"), { qos: 1 });
  const rate = await rateOf(sender, messages, (arrived) => sender.on("message", arrived));
  await sender.endAsync();
  await intake.stop();
  await link.stop();
  await store.close();
  rmSync(folder, { recursive: true, force: true });
  return rate;
}

/** Sends with a bounded number of packs on their way, the next as soon as one has arrived; packs a second to the last arrival. */
async function rateOf(
  sender: MqttClient,
  messages: string[],
  onArrival: (arrived: () => void) => void,
): Promise<number> {
  let sent = 0;
  let arrived = 0;
  const startedMs = performance.now();
  await new Promise<void>((done, failed) => {
    const send = () => {
      const message = messages[sent];
      if (message === undefined) return;
      sent++;
      sender.publish(topics.readings("bench"), message, { qos: 1 }, (error) => {
        if (error) failed(error);
      });
    };
    onArrival(() => {
      arrived++;
      if (arrived === messages.length) done();
      send();
    });
    for (let n = 0; n < inFlight; n++) send();
  });
  return messages.length / ((performance.now() - startedMs) / 1000);
}
