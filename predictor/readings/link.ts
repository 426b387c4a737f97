/** The predictor's connection to the broker: packs and collectors' states come in, receipts and retained messages go out. */
import mqtt, { type MqttClient } from "mqtt";
import type { Logger } from "pino";
import {
  type CollectorState,
  collectorStateSchema,
  jsonIn,
  lastLevel,
  type Receipt,
  topicsOf,
} from "../../collector/readings.ts";
import type { BrokerAddress } from "../../collector/settings.ts";

export interface LinkParts {
  shop: string;
  broker: BrokerAddress;
  onPack: (topic: string, payload: Buffer, correlation?: Buffer) => void;
  logger: Logger;
}

export interface BrokerLink {
  connected(): boolean;
  /** The newest state that each collector told, by its name. */
  collectors(): ReadonlyMap<string, CollectorState>;
  sendReceipt(collector: string, receipt: Receipt, correlation: Buffer | undefined): void;
  /** How many receipts the broker has taken. */
  receiptsSent(): number;
  /** Publishes what is of this moment only: at QoS 0, not retained, and not at all without a connection. */
  say(topic: string, message: object): void;
  /** Retains a message; null removes it. */
  retain(topic: string, message: object | null): void;
  stop(): Promise<void>;
}

/** Connects, and keeps connecting for as long as it is not stopped; `connected()` tells how it stands. */
export function linkBroker({ shop, broker, onPack, logger }: LinkParts): BrokerLink {
  const topics = topicsOf(shop);
  const ownTopics = [topics.readiness("+", "+"), topics.warnings("+", "+")];
  const collectors = new Map<string, CollectorState>();
  /** What must stand retained at the broker, kept here so that a broker that was away or new is told again. */
  const retained = new Map<string, string>();
  const client: MqttClient = mqtt.connect(broker.url, {
    protocolVersion: broker.protocolVersion,
    clientId: `coatclock-predictor-${shop}`,
    // Over MQTT 5 packs that come while we are away wait in the broker for a day: a help to devices without an outbox.
    // The embedded broker would forget them with us, and a lasting session slows it: it gets a clean one.
    ...(broker.protocolVersion === 5
      ? { clean: false, properties: { sessionExpiryInterval: 86_400 } }
      : { clean: true }),
    reconnectPeriod: 1_000,
    resubscribe: false,
    ...(broker.username === undefined ? {} : { username: broker.username }),
    ...(broker.password === undefined ? {} : { password: broker.password }),
    ...(broker.ca === undefined ? {} : { ca: broker.ca }),
  });

  let receiptsSent = 0;
  const publish = (
    topic: string,
    payload: string,
    retain: boolean,
    correlation?: Buffer,
    onTaken?: () => void,
  ): void => {
    const properties =
      correlation !== undefined && broker.protocolVersion === 5 ? { properties: { correlationData: correlation } } : {};
    client.publish(topic, payload, { qos: 1, retain, ...properties }, (error) => {
      if (error) logger.warn({ err: error, topic }, "a message could not be published");
      else onTaken?.();
    });
  };
  client.on("connect", () => {
    client.subscribe([topics.allReadings, topics.allCollectors], { qos: 1 }, (error) => {
      if (error) logger.error({ err: error }, "the broker refuses our subscription: check its access list");
    });
    for (const [topic, payload] of retained) publish(topic, payload, true);
    client.subscribe(ownTopics, { qos: 1 });
  });
  client.on("message", (topic, payload, packet) => {
    if (topic.startsWith(topics.readings(""))) {
      onPack(topic, payload, packet.properties?.correlationData);
      return;
    }
    if (!topic.startsWith(topics.collectors(""))) {
      // What an earlier predictor left retained of coats and warnings that are no more would light a lamp for ever.
      if (packet.retain && payload.length > 0 && !retained.has(topic)) publish(topic, "", true);
      return;
    }
    const name = lastLevel(topic);
    const state = collectorStateSchema.safeParse(jsonIn(payload));
    if (state.success) collectors.set(name, state.data);
    else logger.warn({ collector: name }, "a collector's state is not of the documented form; it is passed over");
  });
  client.on("error", (error) => logger.error({ err: error, url: broker.url }, "the broker can't be used"));
  client.on("offline", () => logger.warn({ url: broker.url }, "the broker is away; trying again each second"));

  return {
    connected: () => client.connected,
    collectors: () => collectors,
    sendReceipt: (collector, receipt, correlation) =>
      publish(topics.receipts(collector), JSON.stringify(receipt), false, correlation, () => {
        receiptsSent += 1;
      }),
    receiptsSent: () => receiptsSent,
    say(topic, message) {
      if (client.connected) client.publish(topic, JSON.stringify(message), { qos: 0 });
    },
    retain(topic, message) {
      const payload = message === null ? "" : JSON.stringify(message);
      if (retained.get(topic) === payload) return;
      retained.set(topic, payload);
      if (client.connected) publish(topic, payload, true);
      if (client.connected && message === null) retained.delete(topic);
    },
    stop: () => client.endAsync(),
  };
}
