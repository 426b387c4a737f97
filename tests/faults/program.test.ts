/** The program as a whole when things go wrong: taken ports, faulty files, kill -9 at any moment, a collector on its own. */
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer, type Server } from "node:net";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import Database from "better-sqlite3";
import { afterEach, describe, expect, it } from "vitest";
import { brokerKinds, freePort, killChild } from "./brokers.ts";

const compiled = resolve(import.meta.dirname, "../../dist/main.js");
const folders: string[] = [];
const children: ChildProcess[] = [];

afterEach(async () => {
  for (const child of children.splice(0)) await killChild(child);
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});

function newFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-fault-"));
  folders.push(folder);
  return folder;
}

function environment(folder: string, httpPort: number): NodeJS.ProcessEnv {
  return {
    ...process.env,
    COATCLOCK_PORT: String(httpPort),
    COATCLOCK_DATA: join(folder, "data"),
    COATCLOCK_LOG: "silent",
  };
}

/** Runs it to its end, as one that cannot start. */
function runOnce(folder: string, args: string[], httpPort = 0) {
  const { status, stderr } = spawnSync(process.execPath, [compiled, ...args], {
    env: environment(folder, httpPort),
    encoding: "utf8",
    timeout: 20_000,
  });
  return { status, stderr };
}

async function start(folder: string, args: string[]): Promise<ChildProcess> {
  const child = spawn(process.execPath, [compiled, ...args], {
    env: environment(folder, 0),
    stdio: ["ignore", "pipe", "inherit"],
  });
  children.push(child);
  child.stdout.on("data", (said: Buffer) => {
    const port = /http:\/\/localhost:(\d+)/.exec(said.toString())?.[1];
    if (port !== undefined) ports.set(child, Number(port));
  });
  await once(child.stdout, "data");
  return child;
}

async function listening(port = 0): Promise<{ server: Server; port: number }> {
  const server = createServer();
  server.listen(port);
  await once(server, "listening");
  const address = server.address();
  if (address === null || typeof address === "string") throw new Error("no port");
  return { server, port: address.port };
}

const noDatabase = "no database at all, but a long enough text to look at twice".repeat(20);

/** The port of the pages, as the program says it. */
const ports = new Map<ChildProcess, number>();
async function portOf(child: ChildProcess): Promise<number> {
  while (!ports.has(child)) await delay(20);
  return ports.get(child) ?? Number.NaN;
}

const shop = (
  broker: string,
  sources: string,
) => `{ shop: faulty, name: Invented shop, invented: true, timeZone: Etc/UTC, broker: ${broker},
  places: { yard: { name: Yard, kind: yard, sensors: { air-temperature: played/mast } } },
  collectors: { played: { elsewhere: true, sources: [${sources}] } } }`;

describe("a start that cannot be", () => {
  it("says what to do when the port of the pages is taken, and leaves nothing running", async () => {
    const { server, port } = await listening();
    const folder = newFolder();
    writeFileSync(
      join(folder, "shop.yaml"),
      shop("{ kind: embedded, port: 0 }", "{ kind: rehearsal, room: yard, sensor: mast }"),
    );
    const { status, stderr } = runOnce(folder, ["--shop", join(folder, "shop.yaml")], port);
    server.close();
    expect(status).toBe(1);
    expect(stderr).toContain(`port ${port} is taken`);
    expect(stderr).toContain("COATCLOCK_PORT=");
  });

  it("says what to do when the broker's port is taken", async () => {
    const { server, port } = await listening();
    const folder = newFolder();
    writeFileSync(
      join(folder, "shop.yaml"),
      shop(`{ kind: embedded, port: ${port} }`, "{ kind: rehearsal, room: yard, sensor: mast }"),
    );
    const { status, stderr } = runOnce(folder, ["--shop", join(folder, "shop.yaml")]);
    server.close();
    expect(status).toBe(1);
    expect(stderr).toContain(`MQTT port ${port} is taken`);
  });

  it("names the faults of the shop file and ends with 2", () => {
    const folder = newFolder();
    writeFileSync(join(folder, "shop.yaml"), "shop: x\nname: 7\n");
    const { status, stderr } = runOnce(folder, ["--shop", join(folder, "shop.yaml")]);
    expect(status).toBe(2);
    expect(stderr).toContain("shop.yaml:2 name: expected a value of type string, found 7");
    expect(stderr).toContain("places: expected");
  });

  it("names a place's sheet that there is not", () => {
    const folder = newFolder();
    const text = shop("{ kind: embedded, port: 0 }", "{ kind: rehearsal, room: yard, sensor: mast }");
    writeFileSync(join(folder, "shop.yaml"), text.replace("kind: yard,", "kind: yard, sheets: [demo-cleer],"));
    const { status, stderr } = runOnce(folder, ["--shop", join(folder, "shop.yaml")]);
    expect(status).toBe(1);
    expect(stderr).toMatch(/places\.yard\.sheets: expected .*demo-clear.*, found "demo-cleer"/);
  });

  it("names a data folder that cannot be made, and records that are no database, and leaves them as they are", () => {
    const folder = newFolder();
    writeFileSync(join(folder, "data"), "in the way");
    const blocked = runOnce(folder, []);
    expect(blocked.status).toBe(1);
    expect(blocked.stderr).toContain(join(folder, "data"));
    const other = newFolder();
    mkdirSync(join(other, "data"));
    const file = join(other, "data", "records.db");
    writeFileSync(file, noDatabase);
    const damaged = runOnce(other, []);
    expect(damaged.status).toBe(1);
    expect(damaged.stderr).toContain(`${file} can't be used as a database`);
    expect(readFileSync(file, "utf8")).toBe(noDatabase);
  });

  it("knows its own options", () => {
    const { status, stderr } = runOnce(newFolder(), ["--shopp", "x"]);
    expect(status).toBe(2);
    expect(stderr).toContain("--shop FILE");
  });
});

describe("a start after a power cut", () => {
  it("moves damaged readings aside, says so, and goes on with new ones", async () => {
    const folder = newFolder();
    mkdirSync(join(folder, "data"));
    writeFileSync(join(folder, "data", "readings.db"), noDatabase);
    const child = await start(folder, []);
    const health = await fetch(`http://localhost:${await portOf(child)}/api/health`);
    expect(await health.json()).toMatchObject({
      state: "attention",
      store: { damage: expect.stringContaining("was damaged") },
    });
    const aside = readdirSync(join(folder, "data")).find((name) => name.includes(".damaged-"));
    expect(readFileSync(join(folder, "data", aside ?? ""), "utf8")).toBe(noDatabase);
  });
});

describe("a collector on a machine of its own, through mosquitto", () => {
  it("loses nothing and doubles nothing while the predictor is killed again and again", async () => {
    const kind = brokerKinds.find((each) => each.protocolVersion === 5);
    if (kind === undefined) throw new Error("no broker of MQTT 5");
    const port = await freePort();
    const broker = await kind.start(port);
    const folder = newFolder();
    // Half a minute of flow, so that every kill falls into it, on a slow machine too.
    const rows = 15_000;
    const lines = Array.from({ length: rows }, (_, n) => `${1_700_000_000 + n},${(n % 400) / 10}`);
    writeFileSync(join(folder, "mast.csv"), `at,temp\n${lines.join("\n")}\n`);
    const source = `{ kind: playback, file: mast.csv, time: { column: at, format: unix-seconds },
      columns: [{ column: temp, sensor: mast, quantity: air-temperature }], speed: 500 }`;
    writeFileSync(join(folder, "shop.yaml"), shop(`{ kind: address, url: "mqtt://127.0.0.1:${port}" }`, source));
    const args = ["--shop", join(folder, "shop.yaml"), "--only"];
    const file = join(folder, "data", "readings.db");
    const stored = (): number => {
      if (!existsSync(file)) return 0;
      const open = new Database(file, { readonly: true });
      try {
        return open.prepare<[], number>("SELECT count(*) FROM readings").pluck().get() ?? 0;
      } catch {
        // Killed before it had made its tables.
        return 0;
      } finally {
        open.close();
      }
    };

    await start(folder, [...args, "collector"]);
    // The first is killed as soon as it has stored something, the others at moments from their start into the flow.
    const first = await start(folder, [...args, "predictor"]);
    await expect.poll(stored, { timeout: 20_000, interval: 20 }).toBeGreaterThan(0);
    await killChild(first);
    for (const lifeMs of [0, 100, 250, 400, 600, 900, 1200]) {
      const predictor = await start(folder, [...args, "predictor"]);
      await delay(lifeMs);
      await killChild(predictor);
    }
    // Else the kills have come after the flow, and this shows nothing.
    expect(stored()).toBeLessThan(rows);
    await start(folder, [...args, "predictor"]);
    await expect.poll(stored, { timeout: 90_000, interval: 250 }).toBe(rows);
    const open = new Database(file, { readonly: true });
    const instants = open.prepare("SELECT at_ms FROM readings ORDER BY at_ms").pluck().all();
    expect(open.pragma("integrity_check", { simple: true })).toBe("ok");
    open.close();
    expect(instants).toEqual(Array.from({ length: rows }, (_, n) => (1_700_000_000 + n) * 1000));
    await broker.kill();
  }, 180_000);
});
