/** Coatclock as a person starts it: the compiled program in a process of its own, on free ports, in a folder of its own. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { areOthersAsked, moveReadings, startOtherEngines } from "./engines.ts";

/** From the tests' source, and from the compiled bench. */
const compiled = ["../../dist/main.js", "../../main.js"]
  .map((path) => resolve(import.meta.dirname, path))
  .find((path) => existsSync(path));

export interface Program {
  /** Where its pages are, such as http://localhost:41234 */
  address: string;
  /** Where readings go, such as mqtt://127.0.0.1:41235 */
  broker: string;
  folder: string;
  output(): string;
  get(path: string): Promise<unknown>;
  /** The cookies of whoever installs: set up with the link of the first start, or one of the rehearsal's invented people. */
  signedIn(): Promise<string>;
  /** Enters something as that person. */
  send(method: "POST" | "PATCH", path: string, body: object): Promise<unknown>;
  /** Ends it with SIGTERM and starts it again with the same folder; its ports may be others then. */
  restart(): Promise<void>;
  /** Ends it with SIGTERM and gives its exit code. */
  stop(): Promise<number | null>;
}

/** Starts it and waits until it says where its pages are. `shopFile` is YAML text; the rehearsal shop without one. `prepare` fills the data folder beforehand. */
export async function startProgram(
  shopFile?: string,
  prepare?: (dataFolder: string) => Promise<void> | void,
): Promise<Program> {
  if (compiled === undefined)
    throw new Error("Coatclock is not compiled: run the tests with npm test, or npm run build first");
  const folder = mkdtempSync(join(tmpdir(), "coatclock-journey-"));
  const args = [compiled];
  let others = shopFile !== undefined && areOthersAsked ? await startOtherEngines() : null;
  const ownFile = join(folder, "shop.yaml");
  if (shopFile !== undefined) {
    writeFileSync(ownFile, others?.shopFileOn(shopFile) ?? shopFile);
    args.push("--shop", ownFile);
  }
  const dataFolder = join(folder, "data");
  if (prepare !== undefined) {
    mkdirSync(dataFolder);
    await prepare(dataFolder);
    if (others !== null) moveReadings(compiled, ownFile, dataFolder);
  }
  let output = "";
  const launch = () => {
    const started = spawn(process.execPath, args, {
      env: {
        ...process.env,
        COATCLOCK_PORT: "0",
        COATCLOCK_DATA: dataFolder,
        COATCLOCK_LOG: process.env.COATCLOCK_LOG ?? "warn",
      },
      stdio: ["ignore", "pipe", "pipe"],
    });
    output = "";
    for (const stream of [started.stdout, started.stderr]) {
      stream.on("data", (chunk: Buffer) => {
        output += chunk.toString();
      });
    }
    return started;
  };
  let child = launch();
  let found = await untilAnnounced(child, () => output);
  let cookies: Promise<string> | null = null;
  const signedIn = () => {
    cookies ??= firstSession(found.address, output);
    return cookies;
  };
  const end = async () => {
    if (child.exitCode !== null || child.signalCode !== null) return;
    const gone = once(child, "exit");
    child.kill("SIGTERM");
    await gone;
  };
  return {
    get address() {
      return found.address;
    },
    get broker() {
      return found.broker;
    },
    folder,
    output: () => output,
    get: async (path) => answerOf(await fetch(found.address + path)),
    signedIn,
    send: async (method, path, body) =>
      answerOf(
        await fetch(found.address + path, {
          method,
          body: JSON.stringify(body),
          headers: { "content-type": "application/json", cookie: await signedIn() },
        }),
      ),
    async restart() {
      await end();
      child = launch();
      found = await untilAnnounced(child, () => output);
    },
    async stop() {
      await end();
      await others?.end();
      others = null;
      rmSync(folder, { recursive: true, force: true });
      return child.exitCode;
    },
  };
}

/** Everybody's PIN in the journeys, and in the rehearsal shop. */
export const pin = "7294";

/** The cookies of the first person, whom the set-up link in `output` makes unless someone did. */
export async function firstSession(address: string, output: string): Promise<string> {
  const token = /set-up\?token=(\S+)/.exec(output)?.[1];
  const post = (path: string, body: object) =>
    fetch(address + path, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(body),
    });
  const name = "Installer A";
  let response = token === undefined ? null : await post("/api/set-up", { token, name, pin });
  // Set up already: by the page, or because this is the rehearsal.
  if (response?.ok !== true) response = await post("/api/sign-in", { name, pin });
  if (!response.ok) throw new Error(`signing in: ${response.status} ${await response.text()}`);
  return response.headers
    .getSetCookie()
    .map((cookie) => cookie.split(";")[0])
    .join("; ");
}

async function untilAnnounced(child: ChildProcess, output: () => string): Promise<{ address: string; broker: string }> {
  for (let tries = 0; tries < 300; tries++) {
    const address = /cars\s+(http:\S+)\//.exec(output())?.[1];
    const broker = /readings\s+(mqtts?:\S+),/.exec(output())?.[1];
    if (address !== undefined && broker !== undefined) return { address, broker };
    if (child.exitCode !== null) throw new Error(`Coatclock ended with ${child.exitCode}:\n${output()}`);
    await delay(100);
  }
  child.kill("SIGKILL");
  throw new Error(`Coatclock did not start within 30 s:\n${output()}`);
}

async function answerOf(response: Response): Promise<unknown> {
  const body: unknown = await response.json();
  if (!response.ok) throw new Error(`${response.status} ${JSON.stringify(body)}`);
  return body;
}
