/**
 * The embedded MQTT broker (3.1.1). On this machine only it asks nobody's name; to the network it does, and who has
 * none may only listen. docs/broker.md explains it to installers; broker-rights.ts says who may what.
 */
import type { EventEmitter } from "node:events";
import { createServer, type Server, type Socket } from "node:net";
import { createServer as createTlsServer } from "node:tls";
import { Aedes } from "aedes";
import type { Logger } from "pino";
import type { BrokerAddress } from "../../collector/settings.ts";
import { addressOf } from "./broker-connections.ts";
import { Guests } from "./broker-guests.ts";
import type { Certificate } from "./certificate.ts";
import type { Credentials } from "./credentials.ts";
import { Refusals } from "./refusals.ts";
import { SignIn } from "./sign-in.ts";

export interface EmbeddedBrokerOptions {
  shop: string;
  /** 0 for any free one. */
  port: number;
  /** Take another free port when this one is taken. */
  anyPortIfTaken?: boolean;
  listen: "this-machine" | "network";
  /** TLS when it is there. */
  tls?: Certificate;
  /** Of the collectors that may sign in; null when there are none. */
  credentials: Credentials | null;
  logger: Logger;
}

export interface EmbeddedBroker {
  /** Where others reach it. */
  port: number;
  /** How the program itself reaches it: with a password of its own, made at each start. */
  own: BrokerAddress & { username: string; password: string };
  /** How many of each kind were refused since the start. */
  refusals(): Record<string, number>;
  stop(): Promise<void>;
}

/** From the connection to the end of its first packet, and for the TLS handshake. */
const connectTimeoutMs = 10_000;
/** How soon a collector is shut out once its password has been replaced. */
const shutOutAfterMs = 10_000;
/** Silence after which a connection is probed, so that one whose far end lost power does not stay for ever. */
const probeAfterMs = 60_000;
const loopback = "127.0.0.1";
const soonMs = 30 * 86_400_000;

/** Starts it. A taken port is an error that says what to do, unless another may be taken. */
export async function startEmbeddedBroker(options: EmbeddedBrokerOptions): Promise<EmbeddedBroker> {
  const { shop, credentials, tls, logger } = options;
  const refusals = new Refusals(logger);
  const signIn = new SignIn({ asks: options.listen === "network", credentials });
  const guests = new Guests({ shop, signIn, credentials, refusals });
  const broker = await Aedes.createBroker({
    ...guests.handlers,
    connectTimeout: connectTimeoutMs,
    maxInflightInbound: 100,
    // For MQTT 3.1, whose 23 letters an id with its user name exceeds.
    maxClientsIdLength: 1024,
  });
  broker.on("unsubscribe", (filters, client) => guests.unsubscribed(client, filters));
  broker.on("clientError", (client, error) => guests.fault(client, error));
  broker.on("connectionError", (client, error) => guests.fault(client, error));
  const events: EventEmitter = broker;
  events.on("error", (error: unknown) => logger.error({ err: error }, "the embedded broker has met an error"));

  const serve = (stream: Socket) => guests.welcome(broker.handle(stream), stream);
  const plainServer = () => {
    const server = createServer(probing, serve);
    server.prependListener("connection", (socket) => guests.admit(socket));
    return server;
  };
  const tlsServer = ({ cert, key }: Certificate) => {
    const server = createTlsServer(
      { ...probing, cert, key, minVersion: "TLSv1.2", handshakeTimeout: connectTimeoutMs },
      serve,
    );
    server.prependListener("connection", (socket) => guests.admit(socket));
    server.on("tlsClientError", (error, socket) => {
      refusals.count("TLS that did not come about", { address: addressOf(socket), error: error.message });
    });
    return server;
  };
  const servers: Server[] = [];
  const shuttingOut = setInterval(() => guests.shutOutFormer(), shutOutAfterMs);
  const stop = async () => {
    clearInterval(shuttingOut);
    // No new connections first: clients that are told goodbye come back at once.
    const closed = servers.map((server) => new Promise<void>((resolve) => server.close(() => resolve())));
    await new Promise<void>((resolve) => broker.close(resolve));
    guests.endAll();
    await Promise.all(closed);
  };

  try {
    const server = tls === undefined ? plainServer() : tlsServer(tls);
    const host = options.listen === "network" ? "0.0.0.0" : loopback;
    const port = await listenWhereFree(server, host, options);
    servers.push(server);
    server.on("error", (error) => logger.error({ err: error }, "the embedded broker's port has met an error"));
    let ownPort = port;
    if (tls !== undefined) {
      warnOfExpiry(tls, logger);
      // The program needs no TLS to itself, and the certificate is not made out to loopback.
      const door = plainServer();
      ownPort = await listen(door, loopback, 0);
      servers.push(door);
    }
    const own = { url: `mqtt://${loopback}:${ownPort}`, protocolVersion: 4, ...signIn.own } as const;
    return { port, own, refusals: () => refusals.totals(), stop };
  } catch (error) {
    await stop();
    throw error;
  }
}

const probing = { keepAlive: true, keepAliveInitialDelay: probeAfterMs };

async function listenWhereFree(
  server: Server,
  host: string,
  { port, anyPortIfTaken = false }: EmbeddedBrokerOptions,
): Promise<number> {
  try {
    return await listen(server, host, port);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EADDRINUSE") throw error;
    if (anyPortIfTaken) return listen(server, host, 0);
    throw new Error(
      `MQTT port ${port} is taken on this machine. Stop what uses it (ss -ltnp shows it), give broker.port another number ` +
        `in the shop file, or use the broker that runs there: broker: { kind: address, url: mqtt://127.0.0.1:${port} }.`,
    );
  }
}

function listen(server: Server, host: string, port: number): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once("error", reject);
    server.listen(port, host, () => {
      server.off("error", reject);
      const address = server.address();
      if (address === null || typeof address === "string") reject(new Error("the embedded broker has no port"));
      else resolve(address.port);
    });
  });
}

function warnOfExpiry({ validToMs }: Certificate, logger: Logger): void {
  const leftMs = validToMs - Date.now();
  if (leftMs > soonMs) return;
  const until = new Date(validToMs).toISOString();
  if (leftMs > 0) logger.warn({ until }, "the broker's certificate ends soon: make another (docs/broker.md)");
  else
    logger.error({ until }, "the broker's certificate has ended, collectors refuse it: make another (docs/broker.md)");
}
