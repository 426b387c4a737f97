/** One lasting connection to the broker: a fresh MQTT session each time, so that nothing of a lost one comes back by itself. */
import { setTimeout as delay } from "node:timers/promises";
import type { IClientOptions, IClientPublishOptions, MqttClient } from "mqtt";
import mqtt from "mqtt";
import type { Logger } from "pino";
import type { BrokerAddress } from "./settings.ts";

export interface ConnectionOptions {
  broker: BrokerAddress;
  clientId: string;
  /** Subscribed at QoS 1 before `opened` is told. */
  subscriptions: string[];
  /** The retained message the broker publishes when it loses us; asked for at each attempt to connect. */
  lastWill?: () => { topic: string; payload: string };
  opened: () => void;
  lost: () => void;
  message: (topic: string, payload: Buffer) => void;
  logger: Logger;
}

const firstRetryMs = 250;
const longestRetryMs = 10_000;
const connectTimeoutMs = 10_000;
/** A silent broker is noticed within one and a half of it. */
const keepaliveS = 15;
const farewellMs = 400;

export class Connection {
  readonly #options: ConnectionOptions;
  readonly #ending = new AbortController();
  #client: MqttClient | undefined;
  #running: Promise<void> = Promise.resolve();

  constructor(options: ConnectionOptions) {
    this.#options = options;
  }

  start(): void {
    this.#running = this.#keepConnected();
  }

  /** Says goodbye to the broker, so that it does not publish the last will. */
  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#running;
  }

  get isOpen(): boolean {
    return this.#client !== undefined;
  }

  /** Resolves when the broker has acknowledged; rejects when there is no connection or it is lost meanwhile. */
  async publish(topic: string, payload: string, options: IClientPublishOptions): Promise<void> {
    if (this.#client === undefined) throw new Error("not connected");
    await this.#client.publishAsync(topic, payload, options);
  }

  async #keepConnected(): Promise<void> {
    const { logger } = this.#options;
    const { signal } = this.#ending;
    let retryMs = firstRetryMs;
    while (!signal.aborted) {
      const { reason, wasOpen } = await this.#session();
      if (signal.aborted) return;
      retryMs = wasOpen ? firstRetryMs : Math.min(retryMs * 2, longestRetryMs);
      logger.warn({ reason, retryMs }, wasOpen ? "lost the broker" : "cannot reach the broker");
      // Spread by a fifth, so that many collectors do not come back in the same instant.
      await delay(retryMs * (0.8 + 0.4 * Math.random()), undefined, { signal }).catch(() => undefined);
    }
  }

  /** Connects, and stays until the connection ends or `stop` is called. Never rejects. */
  async #session(): Promise<{ reason: string; wasOpen: boolean }> {
    const { broker, opened, lost, message, subscriptions, logger } = this.#options;
    const { signal } = this.#ending;
    let client: MqttClient;
    try {
      client = mqtt.connect(broker.url, this.#clientOptions());
    } catch (error) {
      return { reason: String(error), wasOpen: false };
    }
    const over = new AbortController();
    const ended = new Promise<string>((resolve) => {
      client.on("error", (error) => resolve(error.message));
      client.once("close", () => resolve("connection closed"));
      signal.addEventListener("abort", () => resolve("stopped"), { signal: over.signal });
    });
    client.on("message", (topic, payload) => message(topic, payload));
    client.once("connect", () => {
      client.subscribeAsync(subscriptions, { qos: 1 }).then(
        () => {
          if (signal.aborted || client.disconnecting || !client.connected) return;
          this.#client = client;
          logger.info({ broker: broker.url }, "connected to the broker");
          opened();
        },
        (error: unknown) => client.emit("error", error instanceof Error ? error : new Error(String(error))),
      );
    });
    const reason = await ended;
    over.abort();
    const wasOpen = this.#client !== undefined;
    this.#client = undefined;
    await end(client, signal.aborted);
    if (wasOpen) lost();
    return { reason, wasOpen };
  }

  #clientOptions(): IClientOptions {
    const { broker, clientId, lastWill } = this.#options;
    const will = lastWill?.();
    return {
      clientId,
      protocolVersion: broker.protocolVersion,
      clean: true,
      reconnectPeriod: 0,
      connectTimeout: connectTimeoutMs,
      keepalive: keepaliveS,
      ...(will && { will: { topic: will.topic, payload: Buffer.from(will.payload), qos: 1, retain: true } }),
      ...(broker.username === undefined ? {} : { username: broker.username }),
      ...(broker.password === undefined ? {} : { password: broker.password }),
      ...(broker.ca === undefined ? {} : { ca: broker.ca }),
    };
  }
}

/** Ends a client for good; by force where the farewell takes too long. */
async function end(client: MqttClient, politely: boolean): Promise<void> {
  if (politely && client.connected) {
    const farewell = new AbortController();
    await Promise.race([
      client.endAsync().then(() => farewell.abort()),
      delay(farewellMs, undefined, { signal: farewell.signal }).catch(() => undefined),
    ]);
  }
  client.end(true);
  // A socket that fails after the end must not take the process with it.
  client.on("error", () => undefined);
}
