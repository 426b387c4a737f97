/** Bounds the connections to the embedded broker, so that nobody can use up all of them. */
import type { Socket } from "node:net";

interface Connection {
  socket: Socket;
  /** Whose it is: the address until it has signed in, then the name. */
  owner: string;
  isSignedIn: boolean;
  /** The program's own is never ended for others. */
  isProtected: boolean;
}

export class Connections {
  readonly #most: number;
  readonly #ended: (address: string) => void;
  /** By the far end's address and port; oldest first. */
  readonly #open = new Map<string, Connection>();

  /** `ended` is told the address of a connection that was ended to make room. */
  constructor(most: number, ended: (address: string) => void) {
    this.#most = most;
    this.#ended = ended;
  }

  /** Takes a new connection in. Where that makes too many, the oldest of whoever has the most is ended. */
  admit(socket: Socket): void {
    const key = keyOf(socket);
    const connection = { socket, owner: addressOf(socket), isSignedIn: false, isProtected: false };
    this.#open.set(key, connection);
    socket.once("close", () => {
      if (this.#open.get(key) === connection) this.#open.delete(key);
    });
    if (this.#open.size > this.#most) this.#makeRoom();
  }

  /** `name` null: it stays nobody's in particular. */
  signedIn(peer: PeerAddress, name: string | null, isProtected: boolean): void {
    const connection = this.#open.get(keyOf(peer));
    if (connection === undefined) return;
    connection.isProtected = isProtected;
    if (name === null) return;
    connection.isSignedIn = true;
    connection.owner = `name ${name}`;
  }

  endAll(): void {
    for (const { socket } of this.#open.values()) socket.destroy();
  }

  #makeRoom(): void {
    const counts = new Map<string, number>();
    for (const { owner } of this.#open.values()) counts.set(owner, (counts.get(owner) ?? 0) + 1);
    let victim: [string, Connection] | undefined;
    let highest = Number.NEGATIVE_INFINITY;
    for (const entry of this.#open) {
      const [, { owner, isSignedIn, isProtected }] = entry;
      if (isProtected) continue;
      // Among those with as many, one that has not signed in.
      const rank = (counts.get(owner) ?? 0) + (isSignedIn ? 0 : 0.5);
      if (rank > highest) {
        highest = rank;
        victim = entry;
      }
    }
    if (victim === undefined) return;
    const [key, { socket }] = victim;
    this.#open.delete(key);
    this.#ended(addressOf(socket));
    socket.destroy();
  }
}

export interface PeerAddress {
  remoteAddress?: string | undefined;
  remotePort?: number | undefined;
}

/** An IPv4 address in its plain form, or "unknown" once the connection has gone. */
export function addressOf({ remoteAddress }: PeerAddress): string {
  return remoteAddress?.replace(/^::ffff:/, "") ?? "unknown";
}

function keyOf(peer: PeerAddress): string {
  return `${addressOf(peer)} ${peer.remotePort}`;
}
