import mqtt from "mqtt";
import { expect, it } from "vitest";
import { startEmbeddedBroker } from "./broker.ts";

it("passes messages on, and stops while a client that keeps coming back is connected", async () => {
  const broker = await startEmbeddedBroker(0);
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`, { protocolVersion: 4, reconnectPeriod: 1 });
  client.on("error", () => undefined);
  const arrived = new Promise<string>((resolve) =>
    client.on("message", (_topic, payload) => resolve(payload.toString())),
  );
  await client.subscribeAsync("a", { qos: 1 });
  await client.publishAsync("a", "hello", { qos: 1 });
  expect(await arrived).toBe("hello");
  await broker.stop();
  client.end(true);
});

it("says what to do when its port is taken, or takes another where it may", async () => {
  const first = await startEmbeddedBroker(0);
  await expect(startEmbeddedBroker(first.port)).rejects.toThrow(`MQTT port ${first.port} is taken`);
  const other = await startEmbeddedBroker(first.port, true);
  expect(other.port).not.toBe(first.port);
  await other.stop();
  await first.stop();
});
