/** Opens a port for the pages and the API, and leaves who holds a connection without asking anything. */
import { createServer as createPlain } from "node:http";
import { createServer as createSecure } from "node:https";
import type { Express } from "express";
import type { Certificate } from "../readings/certificate.ts";

/** A request is there within these, or its connection ends. */
const limits = { headersTimeout: 10_000, requestTimeout: 30_000, connectionsCheckingInterval: 2_000 };
/** More than all pages that may listen (event-stream.ts), with their requests. */
const connectionsAtMost = 1_000;

export interface ListenParts {
  app: Express;
  /** 0 for any that is free. */
  port: number;
  /** All of this machine's addresses, or only those that nobody else reaches. */
  to: "network" | "this-machine";
  tls?: Certificate;
  /** What to do about a port that is taken. */
  ifTaken: string;
}

export interface Listening {
  port: number;
  stop(): Promise<void>;
}

/** Listens until it is stopped. A taken port is an error that says what to do. */
export async function listen({ app, port, to, tls, ifTaken }: ListenParts): Promise<Listening> {
  const server = tls === undefined ? createPlain(limits, app) : createSecure({ ...limits, ...tls }, app);
  server.maxConnections = connectionsAtMost;
  await new Promise<void>((started, failed) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      failed(error.code === "EADDRINUSE" ? new Error(`port ${port} is taken on this machine. ${ifTaken}`) : error);
    });
    if (to === "network") server.listen(port, started);
    else server.listen(port, "127.0.0.1", started);
  });
  const address = server.address();
  return {
    port: typeof address === "object" && address !== null ? address.port : port,
    stop: () =>
      new Promise((stopped) => {
        server.close(() => stopped());
        server.closeAllConnections();
      }),
  };
}
