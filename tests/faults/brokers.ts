/** Real brokers for the fault tests, and a wire between that can be cut. */
import type { ChildProcess } from "node:child_process";
import { spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import type { AddressInfo, Server, Socket } from "node:net";
import { createServer, connect as dial } from "node:net";
import { tmpdir, userInfo } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { Aedes } from "aedes";

export interface TestBroker {
  /** Ends it as a crash would: no goodbye to anyone. */
  kill(): Promise<void>;
}

export interface BrokerKind {
  name: string;
  protocolVersion: 4 | 5;
  start(port: number): Promise<TestBroker>;
}

export const brokerKinds: BrokerKind[] = [
  { name: "mosquitto, MQTT 5", protocolVersion: 5, start: (port) => startMosquitto(port) },
  { name: "mosquitto, MQTT 3.1.1", protocolVersion: 4, start: (port) => startMosquitto(port) },
  { name: "the embedded broker, MQTT 3.1.1", protocolVersion: 4, start: startAedes },
];

/** A mosquitto that keeps sessions and retained messages in a folder, from one start to the next. */
export function lastingMosquitto(folder: string): BrokerKind {
  const start = (port: number) => startMosquitto(port, folder);
  return { name: "mosquitto with persistence, MQTT 5", protocolVersion: 5, start };
}

const mosquitto = "/usr/sbin/mosquitto";

async function startMosquitto(port: number, lasting?: string): Promise<TestBroker> {
  if (!existsSync(mosquitto)) throw new Error(`${mosquitto} is missing: install the Debian package mosquitto`);
  const folder = mkdtempSync(join(tmpdir(), "coatclock-mosquitto-"));
  const config = join(folder, "mosquitto.conf");
  const lines = [
    `listener ${port} 127.0.0.1`,
    "allow_anonymous true",
    ...(lasting === undefined ? ["persistence false"] : ["persistence true", `persistence_location ${lasting}/`]),
    `user ${userInfo().username}`,
  ];
  writeFileSync(config, `${lines.join("\n")}\n`);
  const child = spawn(mosquitto, ["-c", config], { stdio: "ignore" });
  await untilListening(port, child);
  return {
    kill: async () => {
      await killChild(child);
      rmSync(folder, { recursive: true });
    },
  };
}

async function startAedes(port: number): Promise<TestBroker> {
  const aedes = await Aedes.createBroker();
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    aedes.handle(socket);
  });
  server.listen(port, "127.0.0.1");
  await once(server, "listening");
  return {
    kill: async () => {
      for (const socket of sockets) socket.destroy();
      await closeServer(server);
      await new Promise<void>((closed) => aedes.close(() => closed()));
    },
  };
}

/** Ends a child that this test started, at once, and waits until it has gone. */
export async function killChild(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, "exit");
  child.kill("SIGKILL");
  await gone;
}

export async function freePort(): Promise<number> {
  const server = createServer();
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address() as AddressInfo;
  await closeServer(server);
  return port;
}

/** A TCP wire to a port. While it is cut, connections are broken off without a word and none is let through. */
export class Wire {
  readonly #server: Server;
  readonly #sockets = new Set<Socket>();
  #isCut = false;

  constructor(toPort: number) {
    this.#server = createServer((near) => {
      if (this.#isCut) {
        near.destroy();
        return;
      }
      const far = dial(toPort, "127.0.0.1");
      for (const [from, to] of [
        [near, far],
        [far, near],
      ] as const) {
        this.#sockets.add(from);
        from.on("error", () => undefined);
        from.on("close", () => {
          this.#sockets.delete(from);
          to.destroy();
        });
        from.pipe(to);
      }
    });
  }

  async open(): Promise<number> {
    this.#server.listen(0, "127.0.0.1");
    await once(this.#server, "listening");
    return (this.#server.address() as AddressInfo).port;
  }

  cut(): void {
    this.#isCut = true;
    for (const socket of this.#sockets) socket.destroy();
  }

  mend(): void {
    this.#isCut = false;
  }

  async close(): Promise<void> {
    this.cut();
    await closeServer(this.#server);
  }
}

async function closeServer(server: Server): Promise<void> {
  await new Promise<void>((closed) => server.close(() => closed()));
}

export async function untilListening(port: number, child: ChildProcess): Promise<void> {
  for (let tries = 0; tries < 100; tries += 1) {
    if (child.exitCode !== null) throw new Error(`the broker ended at once with code ${child.exitCode}`);
    const socket = dial(port, "127.0.0.1");
    const isUp = await Promise.race([
      once(socket, "connect").then(() => true),
      once(socket, "error").then(() => false),
    ]).catch(() => false);
    socket.destroy();
    if (isUp) return;
    await delay(50);
  }
  throw new Error(`no broker answers on port ${port}`);
}
