/** The access list for mosquitto that docs/broker.md gives, word for word, in a real mosquitto. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir, userInfo } from "node:os";
import { join, resolve } from "node:path";
import mqtt, { type IClientOptions, type MqttClient } from "mqtt";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { freePort, killChild } from "./brokers.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-acl-"));
const topics = topicsOf("my-shop");
let broker: ChildProcess;
let predictor: MqttClient;
let booth: MqttClient;
let nobody: MqttClient;
const clients: MqttClient[] = [];

/** The indented lines from the one that begins so to the next that is not indented. */
function listInDocs(firstLine: string): string {
  const lines = readFileSync(resolve(import.meta.dirname, "../../docs/broker.md"), "utf8").split("\n");
  const list = lines.slice(lines.indexOf(`    ${firstLine}`));
  const end = list.findIndex((line) => line !== "" && !line.startsWith("    "));
  return list
    .slice(0, end)
    .map((line) => line.slice(4))
    .join("\n");
}

beforeAll(async () => {
  const port = await freePort();
  writeFileSync(join(folder, "people"), "", { mode: 0o600 });
  for (const name of ["predictor", "booth-pi", "yard-pi"]) {
    const { status } = spawnSync("mosquitto_passwd", ["-b", join(folder, "people"), name, `${name}'s`]);
    if (status !== 0) throw new Error("mosquitto_passwd failed");
  }
  writeFileSync(join(folder, "acl"), `${listInDocs("# The predictor")}\n`, { mode: 0o600 });
  const lines = [
    `listener ${port} 127.0.0.1`,
    "allow_anonymous true",
    `password_file ${join(folder, "people")}`,
    `acl_file ${join(folder, "acl")}`,
    `user ${userInfo().username}`,
  ];
  writeFileSync(join(folder, "mosquitto.conf"), `${lines.join("\n")}\n`);
  broker = spawn("/usr/sbin/mosquitto", ["-c", join(folder, "mosquitto.conf")], { stdio: "ignore" });
  const connect = async (options: IClientOptions) => {
    // mqtt.js tries again until the broker listens.
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, {
      ...options,
      protocolVersion: 5,
      reconnectPeriod: 100,
    });
    clients.push(client);
    return client;
  };
  const as = (username: string) => ({ username, password: `${username}'s` });
  predictor = await connect(as("predictor"));
  booth = await connect(as("booth-pi"));
  nobody = await connect({});
  await predictor.subscribeAsync("#", { qos: 1 });
});
afterAll(async () => {
  for (const client of clients) client.end(true);
  await killChild(broker);
  rmSync(folder, { recursive: true, force: true });
});

let marks = 0;

/** The topics that the predictor hears when `client` publishes to each of `to`. */
async function heardBy(listener: MqttClient, client: MqttClient, to: readonly string[]): Promise<string[]> {
  const heard: string[] = [];
  marks += 1;
  const mark = topics.receipts(`mark-${marks}`);
  const done = new Promise<void>((resolve) => {
    const listen = (topic: string) => {
      if (topic === mark) {
        listener.off("message", listen);
        resolve();
      } else heard.push(topic);
    };
    listener.on("message", listen);
  });
  // MQTT 5 says who may not, by a reason code; what counts is what arrives.
  for (const topic of to) await client.publishAsync(topic, "1", { qos: 1 }).catch(() => undefined);
  await predictor.publishAsync(mark, "1", { qos: 1 });
  await done;
  return heard;
}

const all = [
  topics.readings("booth-pi"),
  topics.collectors("booth-pi"),
  topics.readings("yard-pi"),
  topics.collectors("yard-pi"),
  topics.receipts("booth-pi"),
  topics.time,
  topics.readiness("car-1", "coat-1"),
  topics.warnings("booth", "cold"),
  topics.recordsHead,
  topicsOf("other-shop").readings("booth-pi"),
  "elsewhere",
];

describe("mosquitto with the access list of the docs", () => {
  it("lets a collector write what bears its name, and nothing else", async () => {
    expect(await heardBy(predictor, booth, all)).toEqual([topics.readings("booth-pi"), topics.collectors("booth-pi")]);
  });

  it("lets nobody without a name write anything", async () => {
    expect(await heardBy(predictor, nobody, all)).toEqual([]);
  });

  it("lets the predictor write what is its own", async () => {
    const own = [
      topics.receipts("booth-pi"),
      topics.time,
      topics.readiness("car-1", "coat-1"),
      topics.warnings("booth", "cold"),
      topics.recordsHead,
    ];
    expect(await heardBy(predictor, predictor, own)).toEqual(own);
  });

  it("lets who has no name hear what lamps need only, and a collector its receipts too", async () => {
    await nobody.subscribeAsync("#", { qos: 1 }).catch(() => undefined);
    await booth.subscribeAsync("#", { qos: 1 }).catch(() => undefined);
    const heardNow = (client: MqttClient) => {
      const heard: string[] = [];
      client.on("message", (topic) => heard.push(topic));
      return heard;
    };
    const byNobody = heardNow(nobody);
    const byBooth = heardNow(booth);
    const told = [
      topics.readings("yard-pi"),
      topics.receipts("booth-pi"),
      topics.receipts("yard-pi"),
      topics.recordsHead,
      topics.collectors("yard-pi"),
      topics.readiness("car-1", "coat-1"),
      topics.warnings("booth", "cold"),
      topics.time,
    ];
    const [, , , , ...forLamps] = told;
    for (const topic of told) await predictor.publishAsync(topic, "1", { qos: 1 });
    await expect.poll(() => byNobody).toEqual(forLamps);
    await expect.poll(() => byBooth).toEqual([topics.receipts("booth-pi"), ...forLamps]);
  });
});
