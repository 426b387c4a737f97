import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import mqtt from "mqtt";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Agent } from "../../collector/agent.ts";
import { Clock } from "../../collector/clock.ts";
import { InstrumentCare } from "../../collector/instruments.ts";
import { DiskOutbox } from "../../collector/outbox/disk-outbox.ts";
import { packDigest } from "../../collector/readings.ts";
import { collector, HandSource, StandIn, topics } from "./agent-stand-ins.ts";
import type { BrokerKind, TestBroker } from "./brokers.ts";
import { brokerKinds, freePort, Wire } from "./brokers.ts";

const logger = pino({ level: "silent" });
const patience = { timeout: 15_000, interval: 20 };

describe.each<BrokerKind>(brokerKinds)("the agent and $name", ({ protocolVersion, start }) => {
  let folder: string;
  let port: number;
  let broker: TestBroker;
  let source: HandSource;
  let agent: Agent | undefined;
  let standIn: StandIn;

  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), "coatclock-agent-"));
    port = await freePort();
    broker = await start(port);
    standIn = await StandIn.connect(port, protocolVersion);
    source = new HandSource();
  });

  afterEach(async () => {
    await agent?.stop();
    agent = undefined;
    await standIn.close();
    await broker.kill();
    rmSync(folder, { recursive: true });
  });

  function startAgent(atPort = port, receiptTimeoutMs = 10_000): Agent {
    agent = new Agent({
      shop: "test-shop",
      collector,
      sensors: ["s1"],
      sources: [source],
      broker: { url: `mqtt://127.0.0.1:${atPort}`, protocolVersion },
      version: "9.9.9",
      clock: new Clock({ trusted: true, logger }),
      care: new InstrumentCare({}),
      outbox: new DiskOutbox({
        collector,
        cardFolder: folder,
        runFolder: folder,
        bootId: "this-boot",
        nowMs: () => performance.now(),
        logger,
      }),
      logger,
      receiptTimeoutMs,
    });
    agent.start();
    return agent;
  }

  const waiting = () => agent?.state(true).outboxPacks;
  const restartBroker = async () => {
    await standIn.close();
    await broker.kill();
    broker = await start(port);
    standIn = await StandIn.connect(port, protocolVersion);
  };

  it("frees the outbox by the receipt, and only by it", async () => {
    standIn.answer = "nothing";
    startAgent();
    source.put([1]);
    await vi.waitFor(() => expect(standIn.values).toEqual([1]), patience);
    expect(waiting()).toBe(1);
    standIn.receipt(Buffer.from("another pack"), "stored");
    standIn.receipt(standIn.packs[0]?.payload ?? Buffer.alloc(0), "stored");
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
  });

  it("forgets a refused pack too, and counts it", async () => {
    standIn.answer = "refused";
    const started = startAgent();
    source.put([1]);
    await vi.waitFor(() => expect(started.state(true)).toMatchObject({ outboxPacks: 0, refusedPacks: 1 }), patience);
  });

  it("says it is online with its version, sensors, sources and clock, and offline when stopped", async () => {
    const started = startAgent();
    await vi.waitFor(() => expect(standIn.states).toHaveLength(1), patience);
    expect(standIn.states[0]).toMatchObject({
      online: true,
      version: "9.9.9",
      sensors: ["s1"],
      outboxPacks: 0,
      clock: "trusted",
      sources: [{ source: "by hand", state: "ready", counters: {} }],
    });
    await started.stop();
    await vi.waitFor(() => expect(standIn.states.at(-1)?.online).toBe(false), patience);
  });

  it("tells a source's new state within a few seconds", async () => {
    startAgent();
    await vi.waitFor(() => expect(standIn.states).toHaveLength(1), patience);
    source.words = "unplugged";
    await vi.waitFor(() => expect(standIn.states.at(-1)?.sources[0]?.state).toBe("unplugged"), patience);
  });

  it("keeps its retained state readable for whoever subscribes later", async () => {
    startAgent();
    await vi.waitFor(() => expect(standIn.states).toHaveLength(1), patience);
    const late = await StandIn.connect(port, protocolVersion);
    await vi.waitFor(() => expect(late.states[0]?.online).toBe(true), patience);
    await late.close();
  });

  it("sends what had no receipt again after the broker was killed and came back", async () => {
    standIn.answer = "nothing";
    startAgent();
    source.put([1, 2, 3]);
    await vi.waitFor(() => expect(standIn.values).toEqual([1, 2, 3]), patience);
    standIn.receipt(standIn.packs[1]?.payload ?? Buffer.alloc(0), "stored");
    await vi.waitFor(() => expect(waiting()).toBe(2), patience);
    await restartBroker();
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
    expect(new Set(standIn.values)).toEqual(new Set([1, 3]));
  });

  it("keeps readings made while no broker is there, and delivers all of them when one comes", async () => {
    await standIn.close();
    await broker.kill();
    startAgent();
    const values = Array.from({ length: 300 }, (_, n) => n);
    source.put(values);
    expect(waiting()).toBe(300);
    broker = await start(port);
    standIn = await StandIn.connect(port, protocolVersion);
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
    expect(new Set(standIn.values)).toEqual(new Set(values));
  });

  it("sends a pack again when its receipt does not come, over the same connection", async () => {
    standIn.answer = "nothing";
    startAgent(port, 500);
    source.put([1]);
    await vi.waitFor(() => expect(standIn.values).toEqual([1, 1]), patience);
    expect(standIn.packs[0]?.payload).toEqual(standIn.packs[1]?.payload);
    standIn.answer = "stored";
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
  });

  it("lets live readings overtake a backlog, and makes a patient source wait", async () => {
    standIn.answer = "nothing";
    startAgent();
    await vi.waitFor(() => expect(standIn.states).toHaveLength(1), patience);
    source.put(
      Array.from({ length: 300 }, (_, n) => n),
      "backlog",
    );
    let isRoomy = false;
    const room = source.outlet?.room().then(() => {
      isRoomy = true;
    });
    source.put([1000]);
    await vi.waitFor(() => expect(standIn.values).toContain(1000), patience);
    expect(standIn.values).toHaveLength(49);
    expect(isRoomy).toBe(false);
    standIn.answer = "stored";
    for (const { payload } of [...standIn.packs]) standIn.receipt(payload, "stored");
    await room;
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
    expect(new Set(standIn.values).size).toBe(301);
  });

  it("is reported offline by its last will when its connection breaks, and online when it is back", async () => {
    const wire = new Wire(port);
    startAgent(await wire.open());
    await vi.waitFor(() => expect(standIn.states.at(-1)?.online).toBe(true), patience);
    wire.cut();
    await vi.waitFor(() => expect(standIn.states.at(-1)?.online).toBe(false), patience);
    const late = await StandIn.connect(port, protocolVersion);
    await vi.waitFor(() => expect(late.states[0]?.online).toBe(false), patience);
    await late.close();
    wire.mend();
    await vi.waitFor(() => expect(standIn.states.at(-1)?.online).toBe(true), patience);
    await agent?.stop();
    await wire.close();
  });

  it("ignores messages on its receipts topic that are no receipts", async () => {
    standIn.answer = "nothing";
    startAgent();
    source.put([1]);
    await vi.waitFor(() => expect(standIn.values).toEqual([1]), patience);
    const stranger = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, { protocolVersion, reconnectPeriod: 0 });
    for (const nonsense of ["", "{", "[]", '{"pack":1}', "\u0000ÿ"]) {
      await stranger.publishAsync(topics.receipts(collector), nonsense, { qos: 1 });
    }
    await stranger.endAsync();
    standIn.receipt(standIn.packs[0]?.payload ?? Buffer.alloc(0), "stored");
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
  });

  it("asks for the receipt by response topic and correlation data where the protocol has them (MQTT 5)", async () => {
    startAgent();
    source.put([1]);
    await vi.waitFor(() => expect(standIn.packs).toHaveLength(1), patience);
    const [first] = standIn.packs;
    const { responseTopic, correlationData } = first?.packet.properties ?? {};
    const digest = packDigest(first?.payload ?? Buffer.alloc(0));
    const expected =
      protocolVersion === 5 ? [`coatclock/1/test-shop/receipts/${collector}`, digest] : [undefined, undefined];
    expect([responseTopic, correlationData?.toString()]).toEqual(expected);
    expect(first?.packet.qos).toBe(1);
    expect(first?.packet.retain).toBe(false);
  });

  it.each(["with a broker", "without one"])("stops %s, whatever waits", async (where) => {
    standIn.answer = "nothing";
    const started = startAgent(where === "with a broker" ? port : await freePort());
    source.put([1, 2, 3]);
    if (where === "with a broker") await vi.waitFor(() => expect(standIn.values).toHaveLength(3), patience);
    await started.stop();
  });

  it("leaves out readings of a clock that was never set, since SenML would take their time for a relative one", async () => {
    startAgent();
    source.outlet?.put([{ sensor: "s1", quantity: "air-temperature", atMs: 60_000, value: 5 }], "live");
    source.put([1]);
    await vi.waitFor(() => expect(standIn.values).toEqual([1]), patience);
    await vi.waitFor(() => expect(waiting()).toBe(0), patience);
  });
});
