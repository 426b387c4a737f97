/** The embedded broker open to a network: who may say and hear what, with real clients. */
import { setTimeout as delay } from "node:timers/promises";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { addCollector } from "../../predictor/readings/credentials.ts";
import { ending, nextMessage, OpenBroker, shop, signedInAs, topics } from "./open-broker.ts";

let open: OpenBroker;
beforeAll(async () => {
  open = await OpenBroker.start();
});
afterEach(() => open.endClients());
afterAll(() => open.stop());

describe("whoever gives no name", () => {
  it("hears readiness, warnings, time and collectors, kept messages included", async () => {
    const readiness = topics.readiness("car-1", "coat-1");
    await open.program.publishAsync(readiness, "half dry", { qos: 1, retain: true });
    const { output } = await open.mosquitto(
      "sub",
      "-q",
      "1",
      "-t",
      topics.readiness("+", "+"),
      "-v",
      "-C",
      "1",
      "-W",
      "10",
    );
    expect(output).toBe(`${readiness} half dry\n`);
    const client = await open.connect();
    const granted = await client.subscribeAsync([topics.time, topics.allCollectors, topics.warnings("+", "+")], {
      qos: 1,
    });
    expect(granted.map(({ qos }) => qos)).toEqual([1, 1, 1]);
    await open.program.publishAsync(readiness, "", { qos: 1, retain: true });
  });

  it("is told no to every filter that reaches wider", async () => {
    const client = await open.connect();
    const wide = ["#", "+/#", "$SYS/#", "coatclock/1/my-shop/#", "coatclock/1/+/time", topics.allReadings];
    for (const filter of [...wide, topics.receipts("booth"), topics.receipts("+"), topicsOf("other").time]) {
      await expect(client.subscribeAsync(filter, { qos: 1 }), filter).rejects.toThrow();
    }
    expect(client.connected).toBe(true);
    const { output } = await open.mosquitto("sub", "-t", "#", "-W", "2");
    expect(output).toMatch(/denied|rejected/i);
  });

  it("publishes nothing: the connection ends and nobody hears it", async () => {
    const before = open.refusals("messages that are not allowed");
    const heard = await open.heardMeanwhile("#", async () => {
      for (const qos of [0, 1, 2] as const) {
        const client = await open.connect();
        const gone = ending(client);
        client.publish(topics.readings("booth"), "[]", { qos });
        await gone;
      }
      await open.mosquitto("pub", "-q", "1", "-r", "-t", topics.time, "-m", "midnight");
    });
    expect(heard.filter((message) => !message.startsWith("$SYS"))).toEqual([]);
    expect(open.refusals("messages that are not allowed")).toBe(before + 4);
  });

  it("leaves no last will", async () => {
    const will = { topic: topics.time, payload: Buffer.from("midnight"), qos: 1, retain: true } as const;
    const heard = await open.heardMeanwhile(topics.time, async () => {
      await expect(open.connect({ will })).rejects.toThrow("Not authorized");
    });
    expect(heard).toEqual([]);
  });

  it("takes nobody's client id", async () => {
    const clientId = `coatclock-${shop}-booth`;
    const collector = await open.connect({ ...signedInAs(open.booth), clientId });
    const ids = [clientId, `booth/${clientId}`, `coatclock-predictor-${shop}`, `coatclock/coatclock-predictor-${shop}`];
    for (const id of ids) {
      await open.connect({ clientId: id });
      await open.connect({ ...signedInAs(open.yard), clientId: id });
    }
    await delay(100);
    expect([collector.connected, open.program.connected]).toEqual([true, true]);
    await open.connect({ ...signedInAs(open.booth), clientId: "" });
    await open.connect({ ...signedInAs(open.booth), clientId: "" });
    expect(collector.connected).toBe(true);
    await open.connect({ ...signedInAs(open.booth), clientId });
    await expect.poll(() => collector.connected).toBe(false);
  });
});

describe("a collector that signs in", () => {
  it("sends readings, hears its receipts, and leaves its state behind as its last will", async () => {
    const state = topics.collectors("booth");
    const heard = await open.heardMeanwhile(`coatclock/1/${shop}/+/booth`, async () => {
      const will = { topic: state, payload: Buffer.from("gone"), qos: 1, retain: true } as const;
      const client = await open.connect({ ...signedInAs(open.booth), will });
      await client.subscribeAsync([topics.receipts("booth"), topics.time], { qos: 1 });
      const receipt = nextMessage(client);
      await client.publishAsync(topics.readings("booth"), "[1]", { qos: 1 });
      await open.program.publishAsync(topics.receipts("booth"), "stored", { qos: 1 });
      expect(String(await receipt)).toBe("stored");
      client.stream.destroy();
      await open.mosquitto("sub", "-t", state, "-C", "1", "-W", "10");
    });
    expect(heard).toEqual([`${topics.readings("booth")} [1]`, `${topics.receipts("booth")} stored`, `${state} gone`]);
    await open.program.publishAsync(state, "", { qos: 1, retain: true });
  });

  it("cannot speak for another, nor for the predictor", async () => {
    const others = [
      topics.readings("yard"),
      topics.collectors("yard"),
      topics.receipts("booth"),
      topics.time,
      topics.readiness("car-1", "coat-1"),
      "$SYS/x",
      topicsOf("other").readings("booth"),
    ];
    const heard = await open.heardMeanwhile("coatclock/#", async () => {
      for (const topic of others) {
        const client = await open.connect(signedInAs(open.booth));
        const gone = ending(client);
        client.publish(topic, "forged", { qos: 1 });
        await gone;
        const will = { topic, payload: Buffer.from("forged"), qos: 1, retain: false } as const;
        await expect(open.connect({ ...signedInAs(open.booth), will })).rejects.toThrow("Not authorized");
      }
    });
    expect(heard).toEqual([]);
  });

  it("cannot listen to another's receipts", async () => {
    const client = await open.connect(signedInAs(open.booth));
    for (const filter of [topics.receipts("yard"), topics.receipts("+"), topics.allReadings, "$SYS/#", "#"]) {
      await expect(client.subscribeAsync(filter), filter).rejects.toThrow();
    }
    const granted = await client.subscribeAsync(topics.receipts("booth"));
    expect(granted.map(({ qos }) => qos)).toEqual([0]);
  });

  it("is refused with a wrong password, and neither the right one nor the wrong one is logged", async () => {
    await expect(open.connect({ ...signedInAs(open.booth), password: "wrong-password" })).rejects.toThrow(
      "Bad username or password",
    );
    await expect(open.connect({ username: "booth" })).rejects.toThrow("Bad username or password");
    await expect(open.connect({ username: "nobody", password: open.booth.password })).rejects.toThrow(
      "Bad username or password",
    );
    await expect(open.connect({ ...signedInAs(open.yard), username: "booth" })).rejects.toThrow(
      "Bad username or password",
    );
    await open.connect(signedInAs(open.booth));
    const wrongFromOutside = await open.mosquitto(
      "pub",
      "-u",
      "booth",
      "-P",
      "wrong-password",
      "-t",
      topics.readings("booth"),
      "-m",
      "x",
    );
    expect(wrongFromOutside.status).not.toBe(0);
    const right = await open.mosquitto(
      "pub",
      "-u",
      "booth",
      "-P",
      open.booth.password,
      "-q",
      "1",
      "-t",
      topics.readings("booth"),
      "-m",
      "x",
    );
    expect(right).toEqual({ status: 0, output: "" });
    expect(open.log).toContain("wrong names or passwords");
    for (const secret of ["wrong-password", open.booth.password, open.yard.password, open.broker.own.password]) {
      expect(open.log).not.toContain(secret);
    }
  });

  it("comes in with a password made meanwhile, and is shut out with the one of before", async () => {
    const first = addCollector(open.file, "hall");
    const client = await open.connect(signedInAs(first));
    const second = addCollector(open.file, "hall");
    await expect(open.connect(signedInAs(first))).rejects.toThrow("Bad username or password");
    await open.connect(signedInAs(second));
    await expect.poll(() => client.connected).toBe(false);
  });
});
