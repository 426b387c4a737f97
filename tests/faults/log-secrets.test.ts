/** What is secret reaches no log, however much is logged; and the data folder is nobody else's to read. */
import { once } from "node:events";
import { readdirSync, statSync, writeFileSync } from "node:fs";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { join } from "node:path";
import mqtt from "mqtt";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openLog } from "../../log.ts";
import { addCollector, type Credential } from "../../predictor/readings/credentials.ts";
import { Notify } from "../../predictor/warnings/notify.ts";
import { notifySchema } from "../../predictor/warnings/notify-settings.ts";
import { text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";
import { type Program, pin, startProgram } from "../journeys/program.ts";
import { freePort } from "./brokers.ts";

const wrongPin = "4815";
const newPin = "612049";
const mailPassword = "mail-secret-5521";
const webhookToken = "webhook-secret-7745";
let program: Program;
let booth: Credential;
let bells: Server;
let cookies: string;

beforeAll(async () => {
  bells = createServer((_request, response) => response.writeHead(500).end()).listen(0, "127.0.0.1");
  await once(bells, "listening");
  const bellsPort = (bells.address() as AddressInfo).port;
  const brokerPort = await freePort();
  process.env.COATCLOCK_LOG = "trace";
  program = await startProgram(
    `{ shop: silent, name: Invented shop, invented: true, timeZone: Etc/UTC,
       broker: { kind: embedded, port: ${brokerPort}, listen: network },
       places: { yard: { name: Yard, kind: yard, sensors: { air-temperature: booth-pi/mast } } },
       collectors: { booth-pi: { elsewhere: true, sensors: [mast] } },
       notify: { webhook: { url: "http://127.0.0.1:${bellsPort}/", headersFile: data/headers.yaml },
                 email: { host: 127.0.0.1, port: ${await freePort()}, from: a@shop.example, to: [b@shop.example], credentialsFile: data/mail.yaml } } }`,
    (data) => {
      const secret = { mode: 0o600 };
      writeFileSync(join(data, "headers.yaml"), `Authorization: Bearer ${webhookToken}\n`, secret);
      writeFileSync(join(data, "mail.yaml"), `username: shop\npassword: ${mailPassword}\n`, secret);
      booth = addCollector(join(data, "collectors.yaml"), "booth-pi");
    },
  );
  cookies = await program.signedIn();
}, 60_000);
afterAll(async () => {
  delete process.env.COATCLOCK_LOG;
  await program.stop();
  bells.close();
});

const post = (path: string, body: string, headers: Record<string, string> = {}) =>
  fetch(program.address + path, { method: "POST", headers: { "content-type": "application/json", ...headers }, body });

it("the program logs no PIN, session, password or token, whatever goes right or wrong", async () => {
  await post("/api/sign-in", JSON.stringify({ name: "Installer A", pin: wrongPin }));
  await post("/api/sign-in", `{ "name": "Installer A", "pin": "${wrongPin}", oops`);
  await post("/api/sign-in", JSON.stringify({ name: "Installer A", pin: wrongPin, more: wrongPin }));
  await post("/api/set-up", JSON.stringify({ token: "wrong-token-90210", name: "Someone", pin: wrongPin }));
  await post("/api/me/pin", JSON.stringify({ pin, newPin }), { cookie: cookies });
  await post("/api/people", JSON.stringify({ name: "Painter B", role: "painter" }), { cookie: cookies });
  const as = async (password: string) => {
    const client = mqtt.connect(program.broker, {
      username: booth.username,
      password,
      protocolVersion: 4,
      reconnectPeriod: 0,
    });
    client.on("error", () => undefined);
    const connected = new Promise<void>((resolve) =>
      client.once("connect", () => resolve()).once("close", () => resolve()),
    );
    await connected;
    if (client.connected) await client.publishAsync("coatclock/1/silent/readings/booth-pi", "{", { qos: 1 });
    await client.endAsync(true);
  };
  await as(booth.password);
  await as("a-wrong-password-3141");
  await expect.poll(() => program.output()).toContain("a pack was refused");

  const output = program.output();
  const sessions = cookies.split("; ").map((cookie) => cookie.split("=")[1] ?? "");
  expect(sessions.every((session) => session.length > 20)).toBe(true);
  const secrets = [
    pin,
    wrongPin,
    newPin,
    mailPassword,
    webhookToken,
    booth.password,
    "a-wrong-password-3141",
    "wrong-token-90210",
    ...sessions,
  ];
  // Four digits may well stand within an instant.
  for (const secret of secrets) expect(output).not.toMatch(new RegExp(`(?<!\\d)${secret}(?!\\d)`));
}, 60_000);

it("what the program writes is for its own account only", () => {
  const data = join(program.folder, "data");
  const names = readdirSync(data, { recursive: true, encoding: "utf8" });
  expect(names).toEqual(expect.arrayContaining(["people.db", "records.db", "readings.db", "collectors.yaml"]));
  const open = names.filter((name) => (statSync(join(data, name)).mode & 0o077) !== 0);
  expect(open).toEqual([]);
});

it("a notice that fails says why, and nothing of its token or password", async () => {
  const lines: string[] = [];
  const { port } = bells.address() as AddressInfo;
  const from = { from: "a@shop.example", to: ["b@shop.example"] };
  const notify = new Notify({
    settings: notifySchema.parse({
      webhook: { url: `http://127.0.0.1:${port}/`, headersFile: "headers.yaml" },
      email: { host: "127.0.0.1", port: await freePort(), ...from },
    }),
    secrets: {
      headers: { Authorization: `Bearer ${webhookToken}` },
      credentials: { username: "shop", password: mailPassword },
    },
    shop: { id: "silent", name: "Invented shop", invented: true },
    words: wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } }),
    logger: openLog("trace", { write: (line) => lines.push(line) }),
  });
  const said = { text: text("warn.records", { fault: "entry 7" }), action: text("warn.records.do") };
  const about = { warningId: null, coatId: null, carId: null, count: 1 };
  notify.take({ id: "n-1", atMs: 0, kind: "warning", urgency: "now", ...said, ...about });
  const failed = (channel: string) =>
    lines.some((line) => line.includes(channel) && line.includes("could not be sent"));
  await expect.poll(() => failed("webhook") && failed("email")).toBe(true);
  await notify.stop();
  for (const secret of [webhookToken, mailPassword]) expect(lines.join("")).not.toContain(secret);
});

describe("the log", () => {
  it("leaves out what an error or a message brings along that is secret", () => {
    const lines: string[] = [];
    const log = openLog("info", { write: (line) => lines.push(line) });
    const error = Object.assign(new Error("no such body"), {
      body: '{"pin":"hidden-1"}',
      headers: { authorization: "hidden-2" },
    });
    log.error({ err: error, password: "hidden-3", person: { pin: "hidden-4", name: "Painter A" } }, "it failed");
    log.info({ request: { headers: { cookie: "hidden-5" }, settings: { token: "hidden-6" } } }, "asked");
    const said = lines.join("");
    expect(said).toContain("no such body");
    expect(said).toContain("Painter A");
    expect(said).not.toContain("hidden");
  });

  it("refuses a level that is none", () => {
    expect(() => openLog("loud")).toThrow();
  });
});
