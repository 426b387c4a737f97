/** The embedded broker open to a network: what no client should send, and what clients should not do. */
import { once } from "node:events";
import type { Socket } from "node:net";
import { setTimeout as delay } from "node:timers/promises";
import { generate } from "mqtt-packet";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { ending, hello, nextMessage, OpenBroker, signedInAs, topics } from "./open-broker.ts";

let open: OpenBroker;
beforeAll(async () => {
  open = await OpenBroker.start();
});
afterEach(() => open.endClients());
afterAll(() => open.stop());

const closed = async (socket: Socket) => socket.closed || (await once(socket, "close").then(() => true));

describe("what no client should send", () => {
  it("ends a connection at once that announces a packet of 1 MiB, before and after it has signed in", async () => {
    const nameless = await open.raw();
    // A PUBLISH of 2^20 bytes, of which none comes (MQTT 3.1.1 §2.2.3).
    nameless.write(Buffer.from([0x30, 0x80, 0x80, 0x40]));
    expect(await closed(nameless)).toBe(true);
    const client = await open.connect(signedInAs(open.booth));
    const gone = ending(client);
    const heard = await open.heardMeanwhile(topics.allReadings, async () => {
      client.publish(topics.readings("booth"), Buffer.alloc(1 << 20), { qos: 1 });
      await gone;
    });
    expect(heard).toEqual([]);
    const fits = await open.connect(signedInAs(open.booth));
    await fits.publishAsync(topics.readings("booth"), Buffer.alloc(250_000), { qos: 1 });
  });

  it("survives bytes that are no MQTT, and packets that are damaged", async () => {
    const valid = [
      hello({ username: "booth", password: Buffer.from(open.booth.password) }),
      hello({ will: { topic: "t", payload: Buffer.from("x"), qos: 1, retain: true } }),
      hello({ protocolVersion: 5, properties: { sessionExpiryInterval: 9 } }),
      generate({ cmd: "subscribe", messageId: 1, subscriptions: [{ topic: topics.time, qos: 1 }] }),
      generate({ cmd: "unsubscribe", messageId: 2, unsubscriptions: [topics.time, "__proto__"] }),
      generate({
        cmd: "publish",
        topic: topics.readings("booth"),
        payload: "x",
        qos: 2,
        messageId: 3,
        dup: false,
        retain: true,
      }),
      generate({ cmd: "pubrel", messageId: 3 }),
      generate({ cmd: "puback", messageId: 4 }),
      generate({ cmd: "pingreq" }),
    ];
    const random = seeded(7);
    const among = (most: number) => Math.floor(random() * most);
    for (let round = 0; round < 400; round++) {
      const socket = await open.raw();
      const isNoise = random() < 0.2;
      const [first = Buffer.alloc(0), ...others] = Array.from({ length: 1 + among(8) }, (_, n) => {
        if (isNoise) return Buffer.from(Array.from({ length: 1 + among(500) }, () => among(256)));
        // Mostly after a whole first packet, so that what follows is read at all.
        const piece = Buffer.from(valid[n === 0 ? 0 : among(valid.length)] ?? "");
        for (let damages = n === 0 && random() < 0.7 ? 0 : among(3); damages > 0; damages--)
          piece[among(piece.length)] = among(256);
        return random() < 0.1 ? piece.subarray(0, among(piece.length)) : piece;
      });
      socket.write(first);
      // What follows goes once the broker has answered, or at once.
      if (random() < 0.8) socket.once("data", () => socket.end(Buffer.concat(others)));
      else socket.end(Buffer.concat(others));
      if (round % 20 === 0) await delay(20);
    }
    await expect.poll(() => open.refusals("messages that are not allowed")).toBeGreaterThan(10);
    expect(open.refusals("subscriptions that are not allowed")).toBeGreaterThan(10);
    expect(open.program.connected).toBe(true);
    const collector = await open.connect(signedInAs(open.booth));
    await collector.publishAsync(topics.readings("booth"), "[]", { qos: 1 });
    expect(open.refusals("connections ended for a fault")).toBeGreaterThan(50);
  });

  it("ends connections that say nothing, and keeps no place for them", async () => {
    const silent = await open.raw();
    const slow = await open.raw();
    slow.write(hello().subarray(0, 6));
    expect([silent.closed, slow.closed]).toEqual([false, false]);
    const startedMs = performance.now();
    await Promise.all([closed(silent), closed(slow)]);
    expect(performance.now() - startedMs).toBeLessThan(15_000);
  });

  it("lets a collector in and keeps lamps from other addresses while one address holds 300 connections", async () => {
    const lamp = await open.connect();
    const collector = await open.connect(signedInAs(open.booth));
    const idle = await Promise.all(Array.from({ length: 300 }, () => open.raw("127.0.0.9")));
    await expect.poll(() => idle.filter((socket) => !socket.closed).length).toBeLessThan(200);
    expect(idle.filter((socket) => !socket.closed).length).toBeGreaterThan(150);
    const late = await open.connect(signedInAs(open.yard));
    expect([lamp, collector, late, open.program].map((client) => client.connected)).not.toContain(false);
    expect(open.refusals("connections ended because there are too many")).toBeGreaterThan(100);
  });

  it("lets one client hold 64 subscriptions and no more, and another after one is given up", async () => {
    const client = await open.connect();
    const filters = Array.from({ length: 64 }, (_, n) => topics.readiness(`car-${n}`, "+"));
    for (const filter of filters) await client.subscribeAsync(filter);
    await expect(client.subscribeAsync(topics.time)).rejects.toThrow();
    await client.unsubscribeAsync(filters[0] ?? "");
    await client.subscribeAsync(topics.time);
  });

  it("does not let a client that takes nothing hold the others up", async () => {
    const deaf = await open.raw();
    deaf.write(
      Buffer.concat([
        hello(),
        generate({ cmd: "subscribe", messageId: 1, subscriptions: [{ topic: topics.time, qos: 0 }] }),
      ]),
    );
    await delay(100);
    deaf.pause();
    const payload = Buffer.alloc(200_000);
    const startedMs = performance.now();
    for (let n = 0; n < 200; n++) await open.program.publishAsync(topics.time, payload, { qos: 0 });
    const collector = await open.connect(signedInAs(open.booth));
    await collector.subscribeAsync(topics.receipts("booth"), { qos: 1 });
    const receipt = nextMessage(collector);
    await open.program.publishAsync(topics.receipts("booth"), "stored", { qos: 1 });
    await receipt;
    expect(performance.now() - startedMs).toBeLessThan(5_000);
    expect(open.refusals("connections ended because they do not take what is sent")).toBe(1);
  });
});

function seeded(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}
