/** Lamps and buzzers through real brokers; the lines are those of a fake gpioset, held by real processes. */
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { type LampTimes, usualTimes } from "../../lamp/lamp.ts";
import { type RunningLamps, startLamps } from "../../lamp/main.ts";
import { lampsSchema } from "../../lamp/settings.ts";
import { type BrokerKind, brokerKinds, freePort, type TestBroker } from "./brokers.ts";
import { FakeGpio } from "./fake-gpioset.ts";
import { FakePredictor } from "./fake-predictor.ts";

const topics = topicsOf("test-shop");
const patience = { timeout: 20_000, interval: 20 };
const short: LampTimes = { silenceMs: 1_500, settleMs: 700 };
const lineOf = (offset: number) => ({ line: { chip: "pinctrl-test", offset } });
const readyLamp = { when: { ready: ["demask", "assemble"], place: "booth" }, ...lineOf(17) };
const warningLamp = { when: { warning: "humidity" }, ...lineOf(22) };
const lostLamp = { when: { lost: true }, ...lineOf(23) };
const buzzer = { when: { warning: "any" }, pattern: { once: { seconds: 0.5 } }, ...lineOf(27) };

const ready = (readyFor: string | null) => ({
  car: "Test car",
  place: "booth",
  panels: ["bonnet"],
  curePercent: 40,
  readyFor,
  next: { stage: "polish", likelyAt: "2026-11-25T08:41:25.529Z", safeAt: "2026-11-25T08:47:31.901Z" },
});
const humidity = (since: string) => ({
  id: "booth/humidity",
  rule: "humidity",
  place: "booth",
  urgency: "soon",
  text: "damp",
  action: "wait",
  coatId: null,
  since,
});

let folder: string;
let gpio: FakeGpio;
let broker: TestBroker;
let port: number;
let predictor: FakePredictor;
let lamps: RunningLamps | undefined;
let logged: string[];

const coat = topics.readiness("j-1", "c-1");
const damp = topics.warnings("booth", "humidity");
const level = (offset: number) => gpio.level(offset);
const untilLevel = (offset: number, wanted: "high" | "low" | "released") =>
  vi.waitFor(() => expect(level(offset)).toBe(wanted), patience);
const timesOn = (offset: number) => gpio.levels(offset).filter((each) => each === "high").length;

async function begin(kind: BrokerKind | undefined = brokerKinds[0]): Promise<void> {
  if (kind === undefined) throw new Error("no broker");
  port = await freePort();
  broker = await kind.start(port);
  predictor = new FakePredictor("test-shop", `mqtt://127.0.0.1:${port}`, kind.protocolVersion);
}

function start(outputs: object[], times = short, protocolVersion: 4 | 5 = 5): void {
  lamps = startLamps({
    shop: "test-shop",
    lamps: lampsSchema.parse({ "booth-lamp": { outputs } }),
    broker: { url: `mqtt://127.0.0.1:${port}`, protocolVersion },
    logger: pino({ level: "warn" }, { write: (line: string) => logged.push(JSON.parse(line).msg) }),
    times,
  });
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-lamp-"));
  gpio = new FakeGpio(1, { gpiochip0: "pinctrl-test" });
  logged = [];
});
afterEach(async () => {
  await lamps?.stop();
  lamps = undefined;
  await predictor.end();
  await broker.kill();
  gpio.remove();
  rmSync(folder, { recursive: true, force: true });
});

describe.each(brokerKinds)("lamps through $name", (kind) => {
  it("follow what is ready and what is warned of, also what was so before they came; at the end all lines are off", async () => {
    await begin(kind);
    predictor.tell(coat, ready("demask"));
    await delay(300);
    start([readyLamp, warningLamp, lostLamp], short, kind.protocolVersion);
    await untilLevel(17, "high");
    expect([level(22), level(23)]).toEqual(["low", "low"]);

    predictor.tell(damp, humidity("2026-11-25T08:40:11.000Z"));
    await untilLevel(22, "high");
    predictor.tell(coat, ready("polish"));
    await untilLevel(17, "low");
    predictor.tell(coat, ready("assemble"));
    await untilLevel(17, "high");
    predictor.tell(damp, null);
    predictor.tell(coat, null);
    await untilLevel(22, "low");
    await untilLevel(17, "low");

    predictor.tell(coat, ready("demask"));
    await untilLevel(17, "high");
    await lamps?.stop();
    expect(gpio.levels(17).slice(-4)).toEqual(["high", "released", "low", "released"]);
    expect([level(22), level(23)]).toEqual(["released", "released"]);
    expect(timesOn(23)).toBe(0);
    expect(logged).toEqual([]);
  });
});

it("goes dark when the predictor gives no sign of life, shows that it is lost, and comes back by itself", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  start([readyLamp, lostLamp]);
  await untilLevel(17, "high");
  predictor.fallSilent();
  await untilLevel(23, "high");
  await untilLevel(17, "low");
  // A message that is not of the documented form is no sign of life.
  predictor.tell(topics.time, "soon");
  await delay(300);
  expect([level(17), level(23)]).toEqual(["low", "high"]);
  predictor.live();
  await untilLevel(17, "high");
  await untilLevel(23, "low");
});

it("waits thirty seconds without a sign of life, neither much less nor much more", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  start([readyLamp, lostLamp], usualTimes);
  await untilLevel(17, "high");
  predictor.fallSilent();
  const silentMs = performance.now();
  await vi.waitFor(() => expect(level(23)).toBe("high"), { timeout: 45_000, interval: 50 });
  expect(performance.now() - silentMs).toBeGreaterThan(29_500);
  expect(performance.now() - silentMs).toBeLessThan(34_000);
  await untilLevel(17, "low");
});

it("never shows what a broker has retained while no predictor lives", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  predictor.fallSilent();
  await delay(300);
  start([readyLamp, lostLamp]);
  await untilLevel(23, "high");
  expect(timesOn(17)).toBe(0);
});

it("goes dark when the broker is killed, and does not show afterwards what was taken back meanwhile", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  predictor.tell(damp, humidity("2026-11-25T08:40:11.000Z"));
  start([readyLamp, warningLamp, lostLamp]);
  await untilLevel(17, "high");
  await untilLevel(22, "high");
  await broker.kill();
  await untilLevel(23, "high");
  await untilLevel(17, "low");
  await untilLevel(22, "low");
  const before = timesOn(17);
  predictor.tell(coat, null);
  broker = await (brokerKinds[0] as BrokerKind).start(port);
  await untilLevel(23, "low");
  await untilLevel(22, "high");
  await delay(short.settleMs + 500);
  expect(level(17)).toBe("low");
  expect(timesOn(17)).toBe(before);
});

it("stays as it is through a short absence of the broker, and then forgets what was not told anew", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  predictor.tell(damp, humidity("2026-11-25T08:40:11.000Z"));
  start([readyLamp, warningLamp, lostLamp], { silenceMs: 15_000, settleMs: 1_000 });
  await untilLevel(17, "high");
  await untilLevel(22, "high");
  await broker.kill();
  predictor.tell(coat, null);
  broker = await (brokerKinds[0] as BrokerKind).start(port);
  await untilLevel(17, "low");
  await delay(1_000);
  expect(gpio.levels(22)).toEqual(["low", "released", "high"]);
  expect(timesOn(23)).toBe(0);
});

it("sounds once for each new thing: not for what was there before, nor again after the broker or the predictor came back", async () => {
  await begin();
  predictor.tell(damp, humidity("2026-11-25T08:40:11.000Z"));
  await delay(300);
  start([buzzer, warningLamp, lostLamp]);
  await untilLevel(22, "high");
  await delay(short.settleMs + 800);
  expect(timesOn(27)).toBe(0);

  predictor.tell(topics.warnings("booth", "cold"), {
    ...humidity("2026-11-25T09:00:00.000Z"),
    id: "booth/cold",
    rule: "cold",
  });
  await untilLevel(27, "high");
  await untilLevel(27, "low");
  expect(timesOn(27)).toBe(1);

  await broker.kill();
  await untilLevel(23, "high");
  broker = await (brokerKinds[0] as BrokerKind).start(port);
  await untilLevel(22, "high");
  // As a predictor that has started anew says it: the same warning, with another beginning.
  predictor.tell(damp, humidity("2026-11-25T10:00:00.000Z"));
  await delay(short.settleMs + 1_000);
  expect(timesOn(27)).toBe(1);

  predictor.tell(damp, null);
  await untilLevel(22, "low");
  predictor.tell(damp, humidity("2026-11-25T11:00:00.000Z"));
  await untilLevel(27, "high");
  await untilLevel(27, "low");
  expect(timesOn(27)).toBe(2);
});

it("goes on unharmed past messages that are not of the documented form", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  start([readyLamp, warningLamp]);
  await untilLevel(17, "high");
  for (const payload of ["{", "[]", "null", '{"place":"booth"}', '{"place":7,"readyFor":"demask"}', "\u0000"]) {
    predictor.tell(coat, payload);
    predictor.tell(damp, payload);
  }
  predictor.tell(damp, humidity("2026-11-25T08:40:11.000Z"));
  await untilLevel(22, "high");
  expect(level(17)).toBe("high");
  expect(logged).toContain("skipped: not of the documented form");
});

it("takes a line anew when the process that held it dies, and says so meanwhile", async () => {
  await begin();
  predictor.tell(coat, ready("demask"));
  start([readyLamp]);
  await untilLevel(17, "high");
  const killed = gpio.holder(17);
  process.kill(killed, "SIGKILL");
  await vi.waitFor(
    () => expect(lamps?.state()["booth-lamp"]?.["line 17 of pinctrl-test"]).toBe("failed: gpioset ended with SIGKILL"),
    patience,
  );
  await vi.waitFor(() => expect(gpio.holder(17)).not.toBe(killed), patience);
  await untilLevel(17, "high");
  expect(logged).toEqual(["an output cannot be switched; trying again"]);
});

it("a command that hangs hinders no other output, is never run twice at once, and is told off at the end", async () => {
  const program = join(folder, "relay");
  const calls = () =>
    existsSync(join(folder, "calls")) ? readFileSync(join(folder, "calls"), "utf8").trim().split("\n") : [];
  writeFileSync(
    program,
    `#!/bin/sh
    cd "${folder}"
    mkdir running || echo twice >> calls
    echo "$1" >> calls
    [ "$1" = on ] && [ -e hang ] && { rmdir running; exec sleep 1000; }
    rmdir running
    `,
  );
  chmodSync(program, 0o755);
  await begin();
  start([{ when: { warning: "any" }, command: program }, readyLamp]);
  await vi.waitFor(() => expect(calls()).toEqual(["off"]), patience);
  writeFileSync(join(folder, "hang"), "");
  predictor.tell(damp, humidity("2026-11-25T08:40:11.000Z"));
  await vi.waitFor(() => expect(calls()).toEqual(["off", "on"]), patience);
  predictor.tell(coat, ready("demask"));
  await untilLevel(17, "high");
  expect(calls()).toEqual(["off", "on"]);
  await vi.waitFor(() => expect(lamps?.state()["booth-lamp"]?.[`command ${program}`]).toMatch(/within 5 s/), patience);
  rmSync(join(folder, "hang"));
  await vi.waitFor(() => expect(calls()).toEqual(["off", "on", "on"]), patience);
  await lamps?.stop();
  expect(calls()).toEqual(["off", "on", "on", "off"]);
});
