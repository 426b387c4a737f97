/** A head office and its shops for the tests: real brokers set up as the examples in docs/ say, predictors, and what both hold. */
import { type ChildProcess, execFileSync, spawn } from "node:child_process";
import { chmodSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { userInfo } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import mqtt, { type MqttClient } from "mqtt";
import { pino } from "pino";
import { topicsOf } from "../../collector/readings.ts";
import { readGroupFile } from "../../predictor/head-office/group-file.ts";
import { type Predictor, startPredictor } from "../../predictor/main.ts";
import { readShopFile } from "../../predictor/shop-file.ts";
import { type HeadOffice, startHeadOffice, startIntake } from "../../predictor/start-head-office.ts";
import { killChild, untilListening } from "./brokers.ts";

const examples = join(import.meta.dirname, "../../docs/examples/head-office");
const logger = pino({ level: process.env.COATCLOCK_LOG ?? "silent" });
export const passwordOf = (user: string) => `invented-${user}`;

/** The group's broker with the list of docs/examples, for the users named and one who may hear everything. */
export async function startGroupBroker(folder: string, port: number, users: readonly string[]): Promise<ChildProcess> {
  const passwords = join(folder, "passwords");
  writeFileSync(passwords, [...users, "auditor"].map((user) => `${user}:${passwordOf(user)}\n`).join(""));
  chmodSync(passwords, 0o600);
  execFileSync("mosquitto_passwd", ["-U", passwords]);
  const list = join(folder, "list.acl");
  writeFileSync(list, `user auditor\ntopic read #\n\n${readFileSync(join(examples, "group-broker.acl"), "utf8")}`);
  const conf = readFileSync(join(examples, "group-broker.conf"), "utf8")
    .replace(/^listener .*$/m, `listener ${port} 127.0.0.1`)
    .replace(/^(certfile|keyfile) .*\n/gm, "")
    .replace(/^password_file .*$/m, `password_file ${passwords}`)
    .replace(/^acl_file .*$/m, `acl_file ${list}`)
    .replace(/^persistence true$/m, "persistence false");
  return startMosquitto(folder, conf, port);
}

/** A shop's broker that anyone on this machine may use, with the bridge of docs/examples. */
export async function startShopBroker(
  folder: string,
  shop: string,
  port: number,
  groupPort: number,
): Promise<ChildProcess> {
  const bridge = readFileSync(join(examples, "shop-bridge.conf"), "utf8")
    .replaceAll("north", shop)
    .replace(/^address .*$/m, `address 127.0.0.1:${groupPort}`)
    .replace(/^bridge_cafile .*\n/m, "")
    .replace(/^remote_password .*$/m, `remote_password ${passwordOf(shop)}\nrestart_timeout 1`);
  return startMosquitto(folder, `listener ${port} 127.0.0.1\nallow_anonymous true\n${bridge}`, port);
}

async function startMosquitto(folder: string, conf: string, port: number): Promise<ChildProcess> {
  const file = join(folder, "mosquitto.conf");
  writeFileSync(file, `${conf}\nuser ${userInfo().username}\n`);
  const child = spawn("/usr/sbin/mosquitto", ["-c", file], { stdio: "ignore" });
  await untilListening(port, child);
  return child;
}

export { killChild as kill };

export interface TestShop {
  id: string;
  /** Of its pages. */
  address: string;
  /** Publishes readings as a collector would. */
  send(values: readonly number[]): Promise<void>;
  health(): Promise<{ records: { entries: number; head: string }; headOffice: HeadOfficeHealth }>;
  file: string;
  stop(): Promise<void>;
}

interface HeadOfficeHealth {
  connected: boolean;
  readingsWaiting: number;
  entriesBehind: number | null;
  fault: string | null;
}

const startMs = Date.now() - 3_600_000;

/** A whole predictor, with the rehearsal's painter and people in it. `broker` is its own; `headOffice`, YAML, how it reaches the group's. */
export async function startShop(folder: string, id: string, broker: string, headOffice: string): Promise<TestShop> {
  const rehearsal = join(import.meta.dirname, "../../predictor/rehearsal-shop.yaml");
  const yaml = readFileSync(rehearsal, "utf8")
    .replace(/^shop: .*$/m, `shop: ${id}`)
    .replace(/^broker: .*$/m, `broker: { kind: address, url: ${broker} }\nheadOffice: { broker: ${headOffice} }`);
  const file = join(folder, "shop.yaml");
  writeFileSync(file, yaml);
  const dataFolder = join(folder, "data");
  mkdirSync(dataFolder, { recursive: true });
  for (const page of ["index", "wall", "desk"]) writeFileSync(join(folder, `${page}.html`), `<title>${page}</title>`);
  const predictor: Predictor = await startPredictor({
    shopFile: readShopFile(file),
    dataFolder,
    httpPort: 0,
    pagesFolder: folder,
    version: "0.0.0-test",
    clockState: () => "synchronised",
    isRehearsal: true,
    logger,
  });
  const client: MqttClient = await mqtt.connectAsync(broker);
  let sent = 0;
  return {
    id,
    address: `http://127.0.0.1:${predictor.httpPort}`,
    async send(values) {
      const pack = values.map((v) => ({
        bn: "rehearsal/booth/",
        n: "air-temperature",
        u: "Cel",
        t: (startMs + sent++ * 1000) / 1000,
        v,
      }));
      await client.publishAsync(topicsOf(id).readings("rehearsal"), JSON.stringify(pack), { qos: 1 });
    },
    async health() {
      const response = await fetch(`http://127.0.0.1:${predictor.httpPort}/api/health`);
      return (await response.json()) as Awaited<ReturnType<TestShop["health"]>>;
    },
    file: join(dataFolder, "readings.db"),
    async stop() {
      await client.endAsync(true);
      await predictor.stop();
    },
  };
}

const options = (folder: string, port: number, shops: readonly string[]) => {
  writeFileSync(join(folder, "office.yaml"), `{ username: office, password: ${passwordOf("office")} }`, {
    mode: 0o600,
  });
  writeFileSync(
    join(folder, "group.yaml"),
    `{ group: tested, name: Tested group, invented: true, shops: [${shops.join(", ")}],
       broker: { kind: address, url: "mqtt://127.0.0.1:${port}", credentialsFile: office.yaml } }`,
  );
  return { groupFile: readGroupFile(join(folder, "group.yaml")), dataFolder: join(folder, "data"), logger };
};

export function startOffice(folder: string, port: number, shops: readonly string[]): Promise<HeadOffice> {
  for (const page of ["index", "office", "desk"]) writeFileSync(join(folder, `${page}.html`), `<title>${page}</title>`);
  const clockState = () => "synchronised" as const;
  const served = { httpPort: 0, pagesFolder: folder, version: "0.0.0-test", clockState };
  return startHeadOffice({ ...options(folder, port, shops), ...served });
}

export function startSecondIntake(folder: string, port: number, shops: readonly string[]) {
  return startIntake(options(folder, port, shops));
}

/** How many readings a file holds, and their sum. */
export function heldIn(file: string): { count: number; sum: number | null } | undefined {
  const db = new Database(file, { readonly: true });
  try {
    return db
      .prepare<[], { count: number; sum: number | null }>("SELECT count(*) AS count, sum(value) AS sum FROM readings")
      .get();
  } finally {
    db.close();
  }
}
