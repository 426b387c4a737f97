/** Reading → event at a browser: the whole program, commit included, beside a bare broker and event stream; both in processes of their own. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import mqtt from "mqtt";
import { packOf } from "../../collector/readings.ts";
import { withChild } from "./child.ts";
import { type BenchRow, benchRow } from "./row.ts";

const readings = 1_000;
const everyMs = 10;

const shopFile = `{ shop: bench, name: Bench, timeZone: Etc/UTC, broker: { kind: embedded, port: 0 },
  places: { booth: { name: Booth, kind: booth, sensors: { air-temperature: bench/probe } } },
  collectors: { bench: { elsewhere: true, sensors: [probe] } } }`;

export async function eventsBench(): Promise<BenchRow[]> {
  const bare = await withChild([resolve(import.meta.dirname, "bare-stream.js")], {}, (output) => {
    const [, brokerPort, httpPort] = /(\d+) (\d+)/.exec(output) ?? [];
    return brokerPort === undefined
      ? null
      : latencies(brokerPort, "readings", `http://127.0.0.1:${httpPort}/stream`, false);
  });
  const folder = mkdtempSync(join(tmpdir(), "coatclock-bench-"));
  writeFileSync(join(folder, "shop.yaml"), shopFile);
  const args = [resolve(import.meta.dirname, "../../main.js"), "--shop", join(folder, "shop.yaml")];
  const environment = { COATCLOCK_PORT: "0", COATCLOCK_DATA: join(folder, "data"), COATCLOCK_LOG: "silent" };
  try {
    const ours = await withChild(args, environment, (output) => {
      const address = /cars\s+(http:\S+)\//.exec(output)?.[1];
      const brokerPort = /readings\s+mqtt:\/\/127\.0\.0\.1:(\d+)/.exec(output)?.[1];
      if (address === undefined || brokerPort === undefined) return null;
      return latencies(brokerPort, "coatclock/1/bench/readings/bench", `${address}/api/stream?place=booth`, true);
    });
    return [
      benchRow(
        {
          name: "reading → browser, median",
          floor: "bare broker and event stream",
          floorValue: bare.p50,
          value: ours.p50,
          unit: "ms",
        },
        { most: 5 },
      ),
      benchRow(
        {
          name: "reading → browser, 99th percentile, one other browser stalled",
          floor: "bare broker and event stream",
          floorValue: bare.p99,
          value: ours.p99,
          unit: "ms",
        },
        { most: 5 },
      ),
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Sends readings at an even pace, each telling its number by its value in hundredths of a degree, and times their arrival as events. */
async function latencies(
  brokerPort: string,
  topic: string,
  url: string,
  withStalled: boolean,
): Promise<{ p50: number; p99: number }> {
  const ending = new AbortController();
  if (withStalled) await fetch(url, { signal: ending.signal });
  const sentMs: number[] = [];
  const tookMs: number[] = [];
  const response = await fetch(url, { signal: ending.signal });
  const reading = (async () => {
    let text = "";
    for await (const chunk of response.body ?? []) {
      text += Buffer.from(chunk as Uint8Array).toString("utf8");
      const events = text.split("\n\n");
      text = events.pop() ?? "";
      for (const event of events) {
        if (!event.startsWith("event: reading")) continue;
        const number = Math.round(100 * Number(/"(?:value|v)":([\d.]+)/.exec(event)?.[1]));
        tookMs.push(performance.now() - (sentMs[number] ?? Number.NaN));
      }
      if (tookMs.length >= readings) return;
    }
  })();
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${brokerPort}`, { protocolVersion: 4 });
  await delay(500);
  const startMs = performance.now();
  for (let n = 0; n < readings; n++) {
    await delay(Math.max(0, startMs + n * everyMs - performance.now()));
    const pack = packOf("bench", [{ sensor: "probe", quantity: "air-temperature", atMs: Date.now(), value: n / 100 }]);
    sentMs[n] = performance.now();
    client.publish(topic, JSON.stringify(pack), { qos: 1 });
  }
  await reading;
  ending.abort();
  await client.endAsync();
  const sorted = tookMs.sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? Number.NaN;
  return { p50: at(0.5), p99: at(0.99) };
}
