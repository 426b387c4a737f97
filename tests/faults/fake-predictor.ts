import mqtt, { type MqttClient } from "mqtt";
import { topicsOf } from "../../collector/readings.ts";

/** What a predictor publishes for lamps, and nothing else. */
export class FakePredictor {
  readonly #client: MqttClient;
  readonly #timeTopic: string;
  readonly #retained = new Map<string, string>();
  #ticking: NodeJS.Timeout | undefined;

  constructor(shop: string, url: string, protocolVersion: 4 | 5) {
    this.#timeTopic = topicsOf(shop).time;
    this.#client = mqtt.connect(url, { protocolVersion, reconnectPeriod: 100 });
    this.#client.on("error", () => undefined);
    this.#client.on("connect", () => {
      for (const [topic, payload] of this.#retained) this.#publish(topic, payload, true);
    });
    this.live();
  }

  live(): void {
    this.#ticking = setInterval(
      () => this.#publish(this.#timeTopic, JSON.stringify({ at: new Date().toISOString(), believed: true }), false),
      100,
    );
  }

  fallSilent(): void {
    clearInterval(this.#ticking);
  }

  tell(topic: string, message: object | string | null): void {
    const payload = message === null ? "" : typeof message === "string" ? message : JSON.stringify(message);
    this.#retained.set(topic, payload);
    this.#publish(topic, payload, true);
  }

  async end(): Promise<void> {
    this.fallSilent();
    await this.#client.endAsync(true);
  }

  #publish(topic: string, payload: string, retain: boolean): void {
    if (this.#client.connected) this.#client.publish(topic, payload, { qos: 1, retain }, () => undefined);
  }
}
