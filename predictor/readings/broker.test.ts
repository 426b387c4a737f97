import { setTimeout } from "node:timers/promises";
import mqtt, { type IClientOptions, type MqttClient } from "mqtt";
import { pino } from "pino";
import { afterEach, expect, it } from "vitest";
import { type EmbeddedBroker, type EmbeddedBrokerOptions, startEmbeddedBroker } from "./broker.ts";

const stops: (() => Promise<unknown> | unknown)[] = [];
afterEach(async () => {
  for (const stop of stops.splice(0).reverse()) await stop();
});

async function start(options: Partial<EmbeddedBrokerOptions> = {}): Promise<EmbeddedBroker> {
  const broker = await startEmbeddedBroker({
    shop: "my-shop",
    port: 0,
    listen: "this-machine",
    credentials: null,
    logger: pino({ level: "silent" }),
    ...options,
  });
  stops.push(() => broker.stop());
  return broker;
}

async function connect(url: string, options: IClientOptions = {}): Promise<MqttClient> {
  const client = await mqtt.connectAsync(url, { protocolVersion: 4, reconnectPeriod: 0, ...options }, false);
  client.on("error", () => undefined);
  stops.push(() => client.end(true));
  return client;
}

/** The next message it hears. */
const heard = (client: MqttClient) =>
  new Promise<string>((resolve) => client.once("message", (topic, payload) => resolve(`${topic} ${payload}`)));

it("passes messages on, and stops while a client that keeps coming back is connected", async () => {
  const broker = await start();
  const client = await connect(`mqtt://127.0.0.1:${broker.port}`, { reconnectPeriod: 1 });
  const arrived = heard(client);
  await client.subscribeAsync("a", { qos: 1 });
  await client.publishAsync("a", "hello", { qos: 1 });
  expect(await arrived).toBe("a hello");
  await broker.stop();
});

it("says what to do when its port is taken, or takes another where it may", async () => {
  const first = await start();
  await expect(start({ port: first.port })).rejects.toThrow(`MQTT port ${first.port} is taken`);
  const other = await start({ port: first.port, anyPortIfTaken: true });
  expect(other.port).not.toBe(first.port);
});

it("asks nobody on this machine, but lets nobody take the program's name without its password", async () => {
  const broker = await start();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  await connect(url, { username: "anyone", password: "anything" });
  await connect(url, { username: broker.own.username, password: broker.own.password });
  await expect(connect(url, { username: broker.own.username, password: "guessed" })).rejects.toThrow(
    "Bad username or password",
  );
  expect(broker.refusals()).toEqual({ "wrong names or passwords": 1 });
});

it("lets the program do all where it asks others, with a password that is new at each start", async () => {
  const broker = await start({ listen: "network" });
  const other = await start({ listen: "network" });
  expect(other.own.password).not.toBe(broker.own.password);
  const { url, username, password } = broker.own;
  const program = await connect(url, { username, password });
  const arrived = heard(program);
  await program.subscribeAsync("#", { qos: 1 });
  await program.publishAsync("coatclock/1/my-shop/receipts/booth", "stored", { qos: 1 });
  expect(await arrived).toBe("coatclock/1/my-shop/receipts/booth stored");
});

it("forgets the session of a client that has gone, and tells it so", async () => {
  const broker = await start();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const first = await connect(url, { clientId: "lasting", username: "x", clean: false });
  await first.subscribeAsync("a", { qos: 1 });
  await first.endAsync();
  const again = mqtt.connect(url, { clientId: "lasting", username: "x", clean: false, protocolVersion: 4 });
  stops.push(() => again.end(true));
  const sessionPresent = await new Promise((resolve) =>
    again.once("connect", (packet) => resolve(packet.sessionPresent)),
  );
  expect(sessionPresent).toBe(false);
});

it("counts no fault when clients go away without a word while messages are on their way", async () => {
  const broker = await start({ listen: "network" });
  const { url, username, password } = broker.own;
  const topic = "coatclock/1/my-shop/time";
  const program = await connect(url, { username, password });
  const lamp = await connect(url);
  await lamp.subscribeAsync(topic, { qos: 1 });
  for (let n = 0; n < 2000; n++) program.publish(topic, "x", { qos: 1 });
  await setTimeout(30);
  lamp.stream.destroy();
  program.stream.destroy();
  await setTimeout(300);
  expect(broker.refusals()).toEqual({});
});
