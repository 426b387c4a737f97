/** A broker that wants to know who one is, over TLS with the shop's own certificate: mosquitto, and the whole program. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir, userInfo } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { healthSchema } from "../../predictor/serve/health.ts";
import { type Program, startProgram } from "../journeys/program.ts";
import { freePort, killChild } from "./brokers.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-sign-in-"));
let broker: ChildProcess;
let port: number;

function run(command: string, args: string[]): void {
  const { status, stderr, error } = spawnSync(command, args, { encoding: "utf8", cwd: folder });
  if (status !== 0) throw new Error(`${command}: ${error?.message ?? stderr}`);
}

beforeAll(async () => {
  port = await freePort();
  const names = "subjectAltName=DNS:localhost,IP:127.0.0.1";
  const subject = ["-subj", "/CN=localhost", "-addext", names];
  run("openssl", [
    "req",
    "-x509",
    "-newkey",
    "rsa:2048",
    "-nodes",
    "-days",
    "2",
    "-keyout",
    "key.pem",
    "-out",
    "cert.pem",
    ...subject,
  ]);
  writeFileSync(join(folder, "people"), "", { mode: 0o600 });
  run("mosquitto_passwd", ["-b", "people", "predictor", "the right one"]);
  const lines = [
    `listener ${port} 127.0.0.1`,
    `certfile ${join(folder, "cert.pem")}`,
    `keyfile ${join(folder, "key.pem")}`,
    "allow_anonymous false",
    `password_file ${join(folder, "people")}`,
    `user ${userInfo().username}`,
  ];
  writeFileSync(join(folder, "mosquitto.conf"), `${lines.join("\n")}\n`);
  broker = spawn("/usr/sbin/mosquitto", ["-c", join(folder, "mosquitto.conf")], { stdio: "ignore" });
  await delay(500);
});
afterAll(async () => {
  await killChild(broker);
  rmSync(folder, { recursive: true, force: true });
});

function shopFile(password: string): string {
  const credentials = join(folder, `${password.replaceAll(" ", "-")}.yaml`);
  writeFileSync(credentials, `username: predictor\npassword: ${password}\n`, { mode: 0o600 });
  return `{ shop: signed, name: Invented shop, invented: true, timeZone: Etc/UTC,
    broker: { kind: address, url: "mqtts://localhost:${port}", credentialsFile: ${credentials}, caFile: ${join(folder, "cert.pem")} },
    places: { yard: { name: Yard, kind: yard, sensors: { air-temperature: r/mast } } },
    collectors: { r: { sources: [{ kind: rehearsal, room: yard, sensor: mast, pastHours: 1 }] } } }`;
}

const healthOf = async (program: Program) => healthSchema.parse(await program.get("/api/health"));

describe("a broker with sign-in and TLS", () => {
  it("carries readings for those who sign in", async () => {
    const program = await startProgram(shopFile("the right one"));
    await expect
      .poll(async () => (await healthOf(program)).intake.readingsStored, { timeout: 20_000 })
      .toBeGreaterThan(100);
    expect((await healthOf(program)).broker).toEqual({
      url: `mqtts://localhost:${port}`,
      connected: true,
      refusals: null,
    });
    expect(program.output()).not.toContain("the right one");
    expect(await program.stop()).toBe(0);
  }, 60_000);

  it("is not reached with a wrong password; the pages stand, and health and log say so", async () => {
    const program = await startProgram(shopFile("a wrong one"));
    await expect.poll(() => program.output(), { timeout: 20_000 }).toMatch(/not authorized|bad user name or password/i);
    expect(await healthOf(program)).toMatchObject({
      state: "attention",
      broker: { connected: false },
      intake: { readingsStored: 0 },
    });
    expect(program.output()).not.toContain("a wrong one");
    expect(await program.stop()).toBe(0);
  }, 60_000);
});
