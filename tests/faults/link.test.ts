/** The predictor's link to a real broker. */
import mqtt from "mqtt";
import { pino } from "pino";
import { expect, it } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { linkBroker } from "../../predictor/readings/link.ts";
import { brokerKinds, freePort } from "./brokers.ts";

const topics = topicsOf("test-shop");

it.each(brokerKinds)(
  "removes from $name what an earlier predictor left retained, and leaves alone what holds, other topics and other shops",
  async ({ protocolVersion, start }) => {
    const port = await freePort();
    const broker = await start(port);
    const url = `mqtt://127.0.0.1:${port}`;
    const retain = { qos: 1, retain: true } as const;
    const before = await mqtt.connectAsync(url, { protocolVersion });
    const other = topicsOf("other-shop").warnings("booth", "cold");
    const state = topics.collectors("booth-pi");
    for (const topic of [topics.readiness("J-1", "gone"), topics.warnings("booth", "cold"), other]) {
      await before.publishAsync(topic, `{"left":true}`, retain);
    }
    await before.publishAsync(topics.readiness("J-2", "here"), `{"left":true}`, retain);
    await before.publishAsync(state, `{"left":true}`, retain);

    const link = linkBroker({
      shop: "test-shop",
      broker: { url, protocolVersion },
      onPack: () => undefined,
      logger: pino({ level: "silent" }),
    });
    link.retain(topics.readiness("J-2", "here"), { holds: true });
    const retained = async () => {
      const reader = await mqtt.connectAsync(url, { protocolVersion });
      const found = new Map<string, string>();
      reader.on("message", (topic, payload) => found.set(topic, payload.toString()));
      await reader.subscribeAsync("coatclock/1/#", { qos: 1 });
      await new Promise((resolve) => setTimeout(resolve, 100));
      await reader.endAsync();
      return Object.fromEntries(found);
    };
    await expect.poll(retained).toEqual({
      [other]: `{"left":true}`,
      [state]: `{"left":true}`,
      [topics.readiness("J-2", "here")]: `{"holds":true}`,
    });
    await before.endAsync();
    await link.stop();
    await broker.kill();
  },
);
