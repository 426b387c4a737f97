/** The embedded MQTT broker (3.1.1), for this machine only: it asks nobody's name, so it listens on loopback. */
import { createServer, type Server, type Socket } from "node:net";
import { Aedes } from "aedes";

export interface EmbeddedBroker {
  port: number;
  stop(): Promise<void>;
}

/** Starts it. Port 0, or a taken port with `anyPortIfTaken`, gives any free one. A taken port is an error that says what to do. */
export async function startEmbeddedBroker(port: number, anyPortIfTaken = false): Promise<EmbeddedBroker> {
  const broker = await Aedes.createBroker();
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.on("close", () => sockets.delete(socket));
    broker.handle(socket);
  });
  try {
    await listen(server, port);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "EADDRINUSE") throw error;
    if (!anyPortIfTaken) {
      await new Promise<void>((resolve) => broker.close(resolve));
      throw new Error(
        `MQTT port ${port} is taken on this machine. Stop what uses it (ss -ltnp shows it), give broker.port another number ` +
          `in the shop file, or use the broker that runs there: broker: { kind: address, url: mqtt://127.0.0.1:${port} }.`,
      );
    }
    await listen(server, 0);
  }
  const address = server.address();
  if (address === null || typeof address === "string") throw new Error("the embedded broker has no port");
  return {
    port: address.port,
    async stop() {
      // No new connections first: clients that are told goodbye come back at once.
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => broker.close(resolve));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}

function listen(server: Server, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once("error", reject);
    server.listen(port, "127.0.0.1", () => {
      server.off("error", reject);
      resolve();
    });
  });
}
