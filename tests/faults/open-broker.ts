/** The embedded broker open to a network, and clients of every kind to it, for the tests of what it lets pass. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { connect as dial, type Socket } from "node:net";
import { networkInterfaces, tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import mqtt, { type IClientOptions, type MqttClient } from "mqtt";
import { generate, type IConnectPacket } from "mqtt-packet";
import { pino } from "pino";
import { topicsOf } from "../../collector/readings.ts";
import {
  type EmbeddedBroker,
  type EmbeddedBrokerOptions,
  startEmbeddedBroker,
} from "../../predictor/readings/broker.ts";
import { addCollector, type Credential, Credentials } from "../../predictor/readings/credentials.ts";

export const shop = "my-shop";
export const topics = topicsOf(shop);

/** This machine's own address, as others see it; loopback where it has none. */
export const ownAddress =
  Object.values(networkInterfaces())
    .flatMap((addresses) => addresses ?? [])
    .find(({ family, internal }) => family === "IPv4" && !internal)?.address ?? "127.0.0.1";

export const signedInAs = ({ username, password }: Credential) => ({ username, password });

export class OpenBroker {
  readonly folder: string;
  readonly file: string;
  readonly booth: Credential;
  readonly yard: Credential;
  readonly broker: EmbeddedBroker;
  /** The predictor's own connection. */
  readonly program: MqttClient;
  readonly #logged: string[];
  #clients: MqttClient[] = [];
  #sockets: Socket[] = [];

  private constructor(
    parts: Pick<OpenBroker, "folder" | "file" | "booth" | "yard" | "broker" | "program">,
    logged: string[],
  ) {
    this.folder = parts.folder;
    this.file = parts.file;
    this.booth = parts.booth;
    this.yard = parts.yard;
    this.broker = parts.broker;
    this.program = parts.program;
    this.#logged = logged;
  }

  /** With two collectors, `booth` and `yard`, that may sign in. */
  static async start(options: (folder: string) => Partial<EmbeddedBrokerOptions> = () => ({})): Promise<OpenBroker> {
    const folder = mkdtempSync(join(tmpdir(), "coatclock-open-broker-"));
    const file = join(folder, "collectors.yaml");
    const booth = addCollector(file, "booth");
    const yard = addCollector(file, "yard");
    const logged: string[] = [];
    const broker = await startEmbeddedBroker({
      shop,
      port: 0,
      listen: "network",
      credentials: new Credentials(file),
      logger: pino({ level: "debug" }, { write: (line) => logged.push(line) }),
      ...options(folder),
    });
    const program = await mqtt.connectAsync(broker.own.url, {
      protocolVersion: 4,
      clientId: `coatclock-predictor-${shop}`,
      ...signedInAs(broker.own),
    });
    return new OpenBroker({ folder, file, booth, yard, broker, program }, logged);
  }

  get log(): string {
    return this.#logged.join("");
  }

  refusals(kind: string): number {
    return this.broker.refusals()[kind] ?? 0;
  }

  /** Rejects with what the broker says, or when the connection ends without an answer. */
  connect(options: IClientOptions = {}, url = `mqtt://${ownAddress}:${this.broker.port}`): Promise<MqttClient> {
    const client = mqtt.connect(url, { protocolVersion: 4, reconnectPeriod: 0, ...options });
    this.#clients.push(client);
    return new Promise((resolve, reject) => {
      client.once("connect", () => resolve(client));
      client.on("error", reject);
      client.once("close", () => reject(new Error("connection closed")));
    });
  }

  /** A connection that speaks MQTT, or something else, byte by byte; from an address of loopback, where one is given. */
  async raw(from?: string): Promise<Socket> {
    const { port } = this.broker;
    const socket = from === undefined ? dial(port, ownAddress) : dial({ port, host: "127.0.0.1", localAddress: from });
    this.#sockets.push(socket);
    socket.resume();
    await once(socket, "connect");
    socket.on("error", () => undefined);
    return socket;
  }

  /** What the program hears on a filter until something it says itself has come back. */
  async heardMeanwhile(filter: string, act: () => Promise<unknown>): Promise<string[]> {
    const messages: string[] = [];
    const fence = "fence";
    const listen = (topic: string, payload: Buffer) => messages.push(topic === fence ? fence : `${topic} ${payload}`);
    await this.program.subscribeAsync([filter, fence], { qos: 1 });
    this.program.on("message", listen);
    await act();
    await delay(50);
    await this.program.publishAsync(fence, "", { qos: 1 });
    while (!messages.includes(fence)) await delay(5);
    this.program.off("message", listen);
    await this.program.unsubscribeAsync(filter);
    return messages.filter((message) => message !== fence);
  }

  /** One of mosquitto's own clients, to its end. */
  async mosquitto(command: "pub" | "sub", ...args: string[]): Promise<{ status: number | null; output: string }> {
    const child = spawn(`mosquitto_${command}`, ["-h", ownAddress, "-p", String(this.broker.port), ...args]);
    const output = outputOf(child);
    const [status] = (await once(child, "close")) as [number | null];
    return { status, output: output() };
  }

  /** Ends the clients of a test. */
  endClients(): void {
    for (const client of this.#clients.splice(0)) client.end(true);
    for (const socket of this.#sockets.splice(0)) socket.destroy();
  }

  async stop(): Promise<void> {
    this.endClients();
    this.program.end(true);
    await this.broker.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** Resolves once the client has lost its connection. */
export function ending(client: MqttClient): Promise<void> {
  return new Promise((resolve) => client.once("close", () => resolve()));
}

/** The payload of the next message. */
export function nextMessage(client: MqttClient): Promise<string> {
  return new Promise((resolve) => client.once("message", (_topic, payload) => resolve(String(payload))));
}

/** The first packet of a connection. */
export function hello(options: Partial<IConnectPacket> = {}): Buffer {
  return generate({
    cmd: "connect",
    protocolId: "MQTT",
    protocolVersion: 4,
    clean: true,
    clientId: "",
    keepalive: 30,
    ...options,
  });
}

function outputOf(child: ChildProcess): () => string {
  let output = "";
  for (const stream of [child.stdout, child.stderr]) {
    stream?.on("data", (chunk: Buffer) => {
      output += chunk.toString();
    });
  }
  return () => output;
}
