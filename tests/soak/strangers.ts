/** Others on the network who send what is no reading, no MQTT and no HTTP, and pages that stop reading. */
import { connect as dial, type Socket } from "node:net";
import mqtt from "mqtt";
import { packOf, topicsOf } from "../../collector/readings.ts";
import type { Chance } from "../load/invented-shop.ts";

export class Strangers {
  readonly #chance: Chance;
  readonly #shop: string;
  readonly #stalled: Socket[] = [];
  readonly sent: Record<"packs" | "packets" | "requests" | "pages", number> = {
    packs: 0,
    packets: 0,
    requests: 0,
    pages: 0,
  };

  constructor(chance: Chance, shop: string) {
    this.#chance = chance;
    this.#shop = shop;
  }

  /** Publishes what is no pack, under a collector's name and under a strange one. */
  async sendPacks(url: string, collector: string, nowMs: number): Promise<void> {
    const client = mqtt.connect(url, { protocolVersion: 4, reconnectPeriod: 0, connectTimeout: 2_000 });
    client.on("error", () => undefined);
    const isOpen = await new Promise<boolean>((resolve) => {
      client.once("connect", () => resolve(true));
      client.once("close", () => resolve(false));
    });
    const topics = topicsOf(this.#shop);
    for (const payload of isOpen ? this.#noPacks(collector, nowMs) : []) {
      client.publish(topics.readings(this.#chance.next() < 0.5 ? collector : "stranger"), payload, { qos: 0 });
      this.sent.packs += 1;
    }
    await new Promise<void>((resolve) => client.end(false, {}, () => resolve()));
  }

  #noPacks(collector: string, nowMs: number): Buffer[] {
    const pack = packOf(collector, [{ sensor: "booth", quantity: "air-temperature", atMs: nowMs, value: 20 }]);
    const text = JSON.stringify(pack);
    const changed = (change: object) => JSON.stringify(pack.map((record) => ({ ...record, ...change })));
    const texts = [
      text.slice(0, Math.floor(this.#chance.between(1, text.length - 1))),
      changed({ u: "K" }),
      changed({ n: "light" }),
      changed({ v: "20" }),
      changed({ v: null }),
      changed({ bn: "another/booth/" }),
      changed({ quality: "splendid", why: "stuck" }),
      changed({ bver: 99 }),
      "[]",
      "null",
      "",
    ];
    return [...texts.map((each) => Buffer.from(each)), this.#noise(300), Buffer.alloc(200_000, "[")];
  }

  /** Bytes that are no MQTT, or begin as it and go astray. */
  async sendPackets(port: number): Promise<void> {
    const hello = Buffer.from("101000044d5154540402003c0004736f616b", "hex");
    const noise = this.#noise(200);
    for (const bytes of [noise, Buffer.concat([hello, noise]), Buffer.from([0x30, 0xff, 0xff, 0xff, 0xff, 0x7f])]) {
      if (await throwAt(port, bytes)) this.sent.packets += 1;
    }
  }

  async sendRequests(port: number): Promise<void> {
    const json = "POST /api/cars HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n";
    const requests = [
      this.#noise(200),
      Buffer.from("GET / HTTP/9.9\r\n\r\n"),
      Buffer.from(`GET /${"x".repeat(100_000)} HTTP/1.1\r\nHost: localhost\r\n\r\n`),
      Buffer.from(`${json}Content-Length: 100\r\n\r\n{"job":`),
      Buffer.from(`${json}Content-Length: 9\r\n\r\n{"job":7}`),
      Buffer.from(`${json}Transfer-Encoding: chunked\r\n\r\nzzz\r\n`),
      Buffer.from("GET /api/places/%ff%00/wall HTTP/1.1\r\nHost: localhost\r\n\r\n"),
    ];
    for (const bytes of requests) if (await throwAt(port, bytes)) this.sent.requests += 1;
  }

  /** Asks for the stream of all places and reads nothing of it. */
  openPage(port: number): void {
    const socket = dial(port, "127.0.0.1");
    socket.on("error", () => undefined);
    socket.pause();
    socket.write("GET /api/stream?overview HTTP/1.1\r\nHost: localhost\r\n\r\n");
    this.#stalled.push(socket);
    this.sent.pages += 1;
  }

  closePage(): void {
    this.#stalled.shift()?.destroy();
  }

  end(): void {
    for (const socket of this.#stalled.splice(0)) socket.destroy();
  }

  #noise(length: number): Buffer {
    return Buffer.from(Array.from({ length }, () => Math.floor(this.#chance.next() * 256)));
  }
}

/** False where nobody listens. */
async function throwAt(port: number, bytes: Buffer): Promise<boolean> {
  const socket = dial(port, "127.0.0.1");
  socket.resume();
  let isThrown = false;
  socket.on("error", () => undefined);
  socket.once("connect", () => {
    isThrown = true;
    socket.end(bytes);
    setTimeout(() => socket.destroy(), 500);
  });
  await new Promise<void>((closed) => socket.once("close", () => closed()));
  return isThrown;
}
