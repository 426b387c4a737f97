/** What stands on either side of an agent in its tests: a predictor and a source, both under the test's control. */
import type { IPublishPacket, MqttClient } from "mqtt";
import mqtt from "mqtt";
import type { CollectorState, Receipt } from "../../collector/readings.ts";
import { collectorStateSchema, packDigest, senmlPackSchema, topicsOf } from "../../collector/readings.ts";
import type { Outlet, Source } from "../../collector/sources/source.ts";

/** Longer than the 23 characters that MQTT 3.1.1 promises for a client identifier. */
export const collector = "collector-by-the-drying-bay";
export const topics = topicsOf("test-shop");
export const startMs = Date.UTC(2026, 10, 3, 10);

/** What a predictor does for a collector, under the test's control. */
export class StandIn {
  readonly packs: { payload: Buffer; packet: IPublishPacket }[] = [];
  readonly states: CollectorState[] = [];
  answer: Receipt["status"] | "nothing" = "stored";
  readonly #client: MqttClient;

  constructor(client: MqttClient) {
    this.#client = client;
    client.on("message", (topic, payload, packet) => {
      if (topic === topics.collectors(collector)) {
        this.states.push(collectorStateSchema.parse(JSON.parse(payload.toString())));
        return;
      }
      this.packs.push({ payload, packet });
      if (this.answer !== "nothing") this.receipt(payload, this.answer);
    });
  }

  static async connect(port: number, protocolVersion: 4 | 5): Promise<StandIn> {
    const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { protocolVersion, reconnectPeriod: 0 });
    const standIn = new StandIn(client);
    await client.subscribeAsync([topics.allReadings, topics.allCollectors], { qos: 1 });
    return standIn;
  }

  receipt(payload: Buffer, status: Receipt["status"]): void {
    const receipt: Receipt = { pack: packDigest(payload), status };
    this.#client.publish(topics.receipts(collector), JSON.stringify(receipt), { qos: 1 });
  }

  get values(): (number | undefined)[] {
    return this.packs.flatMap(({ payload }) => senmlPackSchema.parse(JSON.parse(payload.toString())).map(({ v }) => v));
  }

  async close(): Promise<void> {
    await this.#client.endAsync(true);
  }
}

/** A source that puts what the test says. */
export class HandSource implements Source {
  readonly name = "by hand";
  outlet: Outlet | undefined;
  words = "ready";

  start(outlet: Outlet): void {
    this.outlet = outlet;
  }

  async stop(): Promise<void> {
    this.words = "stopped";
  }

  state() {
    return { state: this.words, counters: {} };
  }

  put(values: number[], urgency: "live" | "backlog" = "live"): void {
    for (const value of values) {
      const reading = { sensor: "s1", quantity: "air-temperature", atMs: startMs + value * 1000, value } as const;
      this.outlet?.put([reading], urgency);
    }
  }
}
