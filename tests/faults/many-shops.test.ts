import type { ChildProcess } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import mqtt, { type MqttClient } from "mqtt";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { topicsOf } from "../../collector/readings.ts";
import { onwardTopics } from "../../predictor/onward/messages.ts";
import { canonical, hashOf } from "../../predictor/records/log.ts";
import { verify } from "../../predictor/records/verify.ts";
import type { HeadOffice } from "../../predictor/start-head-office.ts";
import { freePort, Wire } from "./brokers.ts";
import {
  heldIn,
  kill,
  passwordOf,
  startGroupBroker,
  startOffice,
  startSecondIntake,
  startShop,
  startShopBroker,
  type TestShop,
} from "./group.ts";

// North and south by brokers of their own that bridge; west straight to the group's.
const names = ["north", "south", "west"] as const;
const startsWithinMs = 60_000;
let folder: string;
let groupPort: number;
let groupBroker: ChildProcess;
const children: ChildProcess[] = [];
const wires = new Map<string, Wire>();
const shops: TestShop[] = [];
const clients: MqttClient[] = [];
let office: HeadOffice;

const folderOf = (name: string) => {
  const path = join(folder, name);
  mkdirSync(path, { recursive: true });
  return path;
};
const brokerUrl = (port: number) => `mqtt://127.0.0.1:${port}`;
const as = async (username: string) => {
  const client = await mqtt.connectAsync(brokerUrl(groupPort), {
    username,
    password: passwordOf(username),
    protocolVersion: 5,
  });
  clients.push(client);
  return client;
};
const copyFile = (id: string, file: string) => join(folder, "office", "data", "shops", id, file);

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-group-"));
  groupPort = await freePort();
  groupBroker = await startGroupBroker(folderOf("group"), groupPort, ["office", ...names]);
  office = await startOffice(folderOf("office"), groupPort, names);
  for (const name of ["north", "south"]) {
    const wire = new Wire(groupPort);
    wires.set(name, wire);
    const port = await freePort();
    children.push(await startShopBroker(folderOf(name), name, port, await wire.open()));
    const own = `{ kind: address, url: "${brokerUrl(port)}", protocol: "3.1.1" }`;
    shops.push(await startShop(folderOf(name), name, brokerUrl(port), own));
  }
  const port = await freePort();
  children.push(await startShopBroker(folderOf("west"), "west-alone", port, groupPort));
  writeFileSync(join(folderOf("west"), "key.yaml"), `{ username: west, password: ${passwordOf("west")} }`, {
    mode: 0o600,
  });
  const straight = `{ kind: address, url: "${brokerUrl(groupPort)}", credentialsFile: key.yaml }`;
  shops.push(await startShop(folderOf("west"), "west", brokerUrl(port), straight));
}, startsWithinMs);
afterAll(async () => {
  for (const client of clients) await client.endAsync(true);
  for (const shop of shops) await shop.stop();
  await office.stop();
  for (const wire of wires.values()) await wire.close();
  for (const child of [...children, groupBroker]) await kill(child);
  rmSync(folder, { recursive: true, force: true });
}, startsWithinMs);

const isWhole = async (shop: TestShop) => {
  const { records, headOffice } = await shop.health();
  const held = office.held.get(shop.id)?.records.head();
  return held?.hash === records.head && held.seq === records.entries && headOffice.readingsWaiting === 0;
};
const wholeShops = async () => {
  const whole: string[] = [];
  for (const shop of shops) if (await isWhole(shop)) whole.push(shop.id);
  return whole;
};

describe("a head office over three shops", () => {
  it("holds each log, each reading, the coats and what each shop says of itself", async () => {
    for (const [index, shop] of shops.entries()) {
      for (let n = 0; n < 4; n += 1) await shop.send(Array.from({ length: 20 }, (_, k) => 20 + index + n + k / 10));
    }
    await expect.poll(wholeShops).toEqual(names);
    for (const shop of shops) {
      expect(heldIn(copyFile(shop.id, "readings.db"))).toEqual(heldIn(shop.file));
      expect(heldIn(shop.file)?.count).toBe(80);
      expect(verify(copyFile(shop.id, "records.db")).faults).toEqual([]);
      const held = office.held.get(shop.id);
      expect(held?.described).toMatchObject({ shop: shop.id, name: "Rehearsal shop", invented: true });
      expect(held?.records.carsHere().length).toBeGreaterThan(0);
      expect(held?.state()).toMatchObject({ fault: null, recordsSeq: (await shop.health()).records.entries });
      const coats = () => [...(office.held.book.all({ shop: shop.id, sort: "finished", order: "up" }, 0) ?? [])].flat();
      await expect.poll(() => coats().length).toBeGreaterThan(0);
      expect(coats().every((row) => row.shop === shop.id)).toBe(true);
    }
  });

  it("is caught up with by a shop that was cut off, while the others go on", async () => {
    const [north, south] = shops;
    if (north === undefined || south === undefined) throw new Error("no shops");
    wires.get("north")?.cut();
    const before = heldIn(copyFile("north", "readings.db"))?.count;
    for (let n = 0; n < 6; n += 1) await north.send(Array.from({ length: 500 }, (_, k) => 15 + ((n + k) % 20)));
    await south.send(Array.from({ length: 10 }, (_, n) => 19 + n));
    await expect.poll(() => isWhole(south)).toBe(true);
    await expect.poll(async () => (await north.health()).headOffice.readingsWaiting).toBe(3000);
    expect(heldIn(copyFile("north", "readings.db"))?.count).toBe(before);
    wires.get("north")?.mend();
    await expect.poll(() => isWhole(north), { timeout: 40_000 }).toBe(true);
    expect(heldIn(copyFile("north", "readings.db"))).toEqual(heldIn(north.file));
  });

  it("goes on with all after the group's broker was killed and started again", async () => {
    await kill(groupBroker);
    for (const shop of shops) await shop.send([21, 22, 23]);
    groupBroker = await startGroupBroker(folderOf("group"), groupPort, ["office", ...names]);
    await expect.poll(wholeShops, { timeout: 40_000 }).toEqual(names);
    for (const shop of shops) expect(heldIn(copyFile(shop.id, "readings.db"))).toEqual(heldIn(shop.file));
  });

  it("refuses an entry that was changed on the way, tells the shop and whoever asks, and takes the true one all the same", async () => {
    const [north] = shops;
    const head = office.held.get("north")?.records.head();
    if (north === undefined || head == null) throw new Error("nothing is held");
    const entry = canonical({
      seq: head.seq + 1,
      at: new Date().toISOString(),
      clock: "synchronised",
      who: "nobody",
      role: "quality",
      kind: "promised",
      what: { carId: "none", was: null, became: null },
      previous: head.hash,
    });
    const changed = entry.replace("nobody", "Quality A");
    const message = { entries: [{ entry: changed, hash: hashOf(entry) }] };
    await (await as("north")).publishAsync(onwardTopics("north").records, JSON.stringify(message), { qos: 1 });
    const says = `entry ${head.seq + 1}: its text does not have the hash`;
    await expect.poll(() => office.held.get("north")?.state().fault).toContain(says);
    await expect.poll(async () => (await north.health()).headOffice.fault).toContain(says);
    expect(readFileSync(copyFile("north", "fault.txt"), "utf8")).toContain(says);
    expect(office.held.get("north")?.records.head()).toEqual(head);
    expect(office.held.get("south")?.state().fault).toBeNull();
    const { cookie, base } = await signedIn(north);
    const car = { job: "J-1", name: "Invented car", place: "booth", panels: [{ name: "bonnet", substrate: "steel" }] };
    const response = await fetch(`${base}/api/cars`, {
      method: "POST",
      headers: { "content-type": "application/json", cookie },
      body: JSON.stringify(car),
    });
    expect(response.status).toBe(201);
    await expect.poll(() => isWhole(north)).toBe(true);
    expect(office.held.get("north")?.records.head()?.seq).toBeGreaterThan(head.seq);
  });

  it("is shared by two intakes", async () => {
    const second = startSecondIntake(folderOf("office"), groupPort, names);
    try {
      await expect.poll(() => second.intake().connected).toBe(true);
      const before = office.intake().packsStored;
      for (let n = 0; second.intake().packsStored === 0 || office.intake().packsStored === before; n += 1) {
        for (const shop of shops) await shop.send([18 + (n % 5)]);
        await new Promise((resolve) => setTimeout(resolve, 100));
        if (n > 150) break;
      }
      expect(second.intake().packsStored).toBeGreaterThan(0);
      expect(office.intake().packsStored).toBeGreaterThan(before);
      await expect.poll(wholeShops).toEqual(names);
      for (const shop of shops) expect(heldIn(copyFile(shop.id, "readings.db"))).toEqual(heldIn(shop.file));
    } finally {
      await second.stop();
    }
  });

  it("can write nothing but receipts and what it holds, and a shop nothing of another's", async () => {
    const heard: string[] = [];
    const auditor = await as("auditor");
    await auditor.subscribeAsync("coatclock/#", { qos: 1 });
    auditor.on("message", (topic, payload) => {
      if (payload.toString().includes("forged")) heard.push(topic);
    });
    const forged = async (user: string, topics: readonly string[]) => {
      const client = await as(user);
      // The broker may refuse it out loud.
      for (const topic of topics) await client.publishAsync(topic, "forged", { qos: 1 }).catch(() => undefined);
    };
    const { receipts, have, ...told } = onwardTopics("north");
    const inShop = topicsOf("north");
    await forged("office", [...Object.values(told), inShop.time, inShop.readings("pi"), inShop.receipts("pi")]);
    await forged("south", [...Object.values(told), receipts, have, inShop.readings("pi")]);
    await forged("office", [receipts]);
    await expect.poll(() => heard).toEqual([receipts]);
  });
});

async function signedIn(shop: TestShop): Promise<{ cookie: string; base: string }> {
  const base = shop.address;
  const response = await fetch(`${base}/api/sign-in`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ name: "Painter A", pin: "7294" }),
  });
  return {
    base,
    cookie: response.headers
      .getSetCookie()
      .map((each) => each.split(";")[0])
      .join("; "),
  };
}
