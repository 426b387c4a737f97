/** Damaged MQTT at the embedded broker: whatever comes on other connections, a good client keeps working. */
import { once } from "node:events";
import { connect as dial } from "node:net";
import { setTimeout as delay } from "node:timers/promises";
import mqtt from "mqtt";
import { pino } from "pino";
import { expect, it } from "vitest";
import { startEmbeddedBroker } from "../../predictor/readings/broker.ts";
import { damaged, randomOf } from "./pack-makers.ts";

const strings = 2_000;
const atOnce = 20;
const closedWithinMs = 5_000;
/** The broker, in this same process, is given so long to answer before the connections are ended. */
const answeredInMs = 10;
const goodTopic = "coatclock/1/shop/readings/booth-pi";

const text = (value: string) =>
  Buffer.concat([Buffer.from([value.length >> 8, value.length & 255]), Buffer.from(value)]);
/** A control packet of MQTT 3.1.1 (§2.2); here they are shorter than 128 bytes, so one byte tells their length. */
const packet = (firstByte: number, ...parts: Buffer[]) => {
  const body = Buffer.concat(parts);
  return Buffer.concat([Buffer.from([firstByte, body.length]), body]);
};
const id = Buffer.from([0, 7]);
const connect = (client: string) => packet(0x10, text("MQTT"), Buffer.from([4, 2, 0, 60]), text(client));
const withWill = (client: string) =>
  packet(0x10, text("MQTT"), Buffer.from([4, 0x2e, 0, 60]), text(client), text("fuzz/will"), text("gone"));
const publish = (qos: number) =>
  packet(0x30 | (qos << 1), text("fuzz/readings"), ...(qos === 0 ? [] : [id]), Buffer.from('[{"n":"a"}]'));
const subscribe = packet(0x82, id, text("fuzz/+"), Buffer.from([1]));
const rest = [
  publish(0),
  publish(1),
  publish(2),
  subscribe,
  packet(0x62, id),
  packet(0xa2, id, text("fuzz/+")),
  packet(0x40, id),
  packet(0xc0),
  packet(0xe0),
];

/** A conversation that is damaged from its first byte, or after a good beginning. */
function damagedConversation(n: number, random: () => number): Buffer {
  const first = random() < 0.5 ? connect(`fuzz-${n}`) : withWill(`fuzz-${n}`);
  const some = rest.filter(() => random() < 0.5);
  const other = Buffer.concat(rest);
  return random() < 0.4
    ? damaged(Buffer.concat([first, ...some]), other, random)
    : Buffer.concat([first, damaged(Buffer.concat(some), other, random)]);
}

/** Sends bytes on a connection of their own. Hanging up says whether the broker let go of it too, soon enough. */
function sendRaw(port: number, bytes: Buffer): { hangUp: () => Promise<boolean> } {
  const socket = dial(port, "127.0.0.1");
  const closed = once(socket, "close").then(() => true);
  socket.on("error", () => undefined);
  socket.resume();
  socket.write(bytes);
  const hangUp = async () => {
    socket.end();
    const patience = new AbortController();
    const late = delay(closedWithinMs, false, { signal: patience.signal }).catch(() => false);
    const isClosed = await Promise.race([closed, late]);
    patience.abort();
    socket.destroy();
    return isClosed;
  };
  return { hangUp };
}

const start = () =>
  startEmbeddedBroker({
    shop: "shop",
    port: 0,
    listen: "this-machine",
    credentials: null,
    logger: pino({ level: "silent" }),
  });

it("a last will of QoS 3, which there is not, is refused and harms none who would have heard it", async () => {
  const broker = await start();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const good = await mqtt.connectAsync(url, { protocolVersion: 4, reconnectPeriod: 0 });
  try {
    await good.subscribeAsync("fuzz/will", { qos: 1 });
    const flags = Buffer.from([4, 0x1e, 0, 60]);
    const bytes = packet(0x10, text("MQTT"), flags, text("fuzz-1"), text("fuzz/will"), text("gone"));
    const raw = sendRaw(broker.port, bytes);
    await expect.poll(() => broker.refusals()["last wills that are not allowed"]).toBe(1);
    await raw.hangUp();
    await good.publishAsync("fuzz/other", "still here", { qos: 1 });
    expect(good.connected).toBe(true);
  } finally {
    await good.endAsync(true);
    await broker.stop();
  }
});

it(`${strings} damaged conversations with the embedded broker leave a good client undisturbed`, {
  timeout: 180_000,
}, async () => {
  const broker = await start();
  const url = `mqtt://127.0.0.1:${broker.port}`;
  const good = await mqtt.connectAsync(url, { protocolVersion: 4, clientId: "good", reconnectPeriod: 0 });
  const heard: string[] = [];
  let losses = 0;
  good.on("error", () => undefined);
  good.on("close", () => losses++);
  let heardOfOthers = 0;
  good.on("message", (topic, payload) => {
    if (topic === goodTopic) heard.push(payload.toString());
    else heardOfOthers++;
  });
  await good.subscribeAsync([goodTopic, "fuzz/+"], { qos: 1 });

  const random = randomOf(20_260_302);
  const said: string[] = [];
  let closed = 0;
  try {
    for (let sent = 0; sent < strings; sent += atOnce) {
      const conversations = Array.from({ length: atOnce }, (_, n) => damagedConversation(sent + n, random));
      const sending = conversations.map((bytes) => sendRaw(broker.port, bytes));
      for (const reading of [`reading ${sent}`, `reading ${sent + 1}`]) {
        said.push(reading);
        await good.publishAsync(goodTopic, reading, { qos: 1 });
        await delay(answeredInMs);
        expect(losses).toBe(0);
      }
      const closings = await Promise.all(sending.map((each) => each.hangUp()));
      closed += closings.filter((isClosed) => isClosed).length;
    }
    await expect.poll(() => heard.length).toBe(said.length);
    expect(heard).toEqual(said);
    expect(losses).toBe(0);
    expect(closed).toBe(strings);
    // Enough of them were found at fault, and enough got through, for this to mean something.
    expect(heardOfOthers).toBeGreaterThan(0.1 * strings);
    expect(broker.refusals()["connections ended for a fault"]).toBeGreaterThan(0.1 * strings);
    const late = await mqtt.connectAsync(url, { protocolVersion: 4, reconnectPeriod: 0 });
    await late.endAsync();
  } finally {
    await good.endAsync(true);
    await broker.stop();
  }
});
