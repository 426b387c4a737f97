/** What the embedded broker asks of each connection: who it is, what it says and hears, and how large its packets are. */
import type { Socket } from "node:net";
import type { AedesOptions, AuthenticateError, Client } from "aedes";
import { addressOf, Connections } from "./broker-connections.ts";
import { type Party, type Rights, rightsOf } from "./broker-rights.ts";
import type { Credentials } from "./credentials.ts";
import { packetGauge } from "./packet-gauge.ts";
import type { Refusals } from "./refusals.ts";
import type { SignIn } from "./sign-in.ts";

/** A pack of 100 readings has some 10 kB. */
const mostPacketBytes = 256 * 1024;
const mostConnections = 200;
/** What may wait to be sent to one connection: a packet of the largest size, and as much again. */
const mostUnsentBytes = 2 * mostPacketBytes;
/** Subscriptions of one connection at a time. */
const mostFilters = 64;

interface Guest {
  address: string;
  stream: Socket;
  /** Topic of its last will. */
  will?: string;
  /** Absent until it has signed in. */
  rights?: Rights;
  /** Of a collector: with which edition of its password it came in. */
  collector?: { name: string; edition: string | null };
  filters: Set<string>;
}

export interface GuestsParts {
  shop: string;
  signIn: SignIn;
  credentials: Credentials | null;
  refusals: Refusals;
}

type Handlers = Required<Pick<AedesOptions, "preConnect" | "authenticate" | "authorizePublish" | "authorizeSubscribe">>;

export class Guests {
  readonly #parts: GuestsParts;
  readonly #refusals: Refusals;
  readonly #guests = new Map<Client, Guest>();
  readonly #connections: Connections;
  #count = 0;
  readonly handlers: Handlers = {
    preConnect: (client, packet, done) => {
      const guest = this.#guests.get(client);
      // MQTT-3.1.2-14. The library lets such a will by, and ends everyone it is sent to.
      if (packet.will !== undefined && !((packet.will.qos ?? 0) <= 2)) {
        this.#refusals.count("last wills that are not allowed", { ...whoIs(guest), topic: packet.will.topic });
        return done(new Refusal("not allowed"), false);
      }
      if (guest !== undefined && packet.will !== undefined) guest.will = packet.will.topic;
      // A second client of the same id ends the first (MQTT-3.1.4-2), so an id counts within its user name only: nobody
      // can end a collector by taking its id. Who gives no name, or no id, gets what no other has.
      this.#count += 1;
      packet.clientId = `${packet.username || `anonymous-${this.#count}`}/${packet.clientId || `unnamed-${this.#count}`}`;
      // Sessions are not kept for those who are away: they would fill the memory.
      packet.clean = true;
      done(null, true);
    },
    authenticate: (client, username, password, done) => {
      this.#signIn(client, username, password)
        .then((refusal) => done(refusal, refusal === null))
        .catch((error: Error) => this.fault(client, error));
    },
    authorizePublish: (client, { topic }, done) => {
      const guest = client === null ? undefined : this.#guests.get(client);
      if (guest?.rights?.mayPublish(topic) === true) return done(null);
      this.#refusals.count("messages that are not allowed", { ...whoIs(guest), topic });
      // An error here ends the connection: MQTT 3.1.1 has no other way to say no.
      done(new Refusal("not allowed"));
    },
    authorizeSubscribe: (client, subscription, done) => {
      const guest = this.#guests.get(client);
      const { topic: filter } = subscription;
      const hasRoom = guest !== undefined && (guest.filters.has(filter) || guest.filters.size < mostFilters);
      if (hasRoom && guest.rights?.maySubscribe(filter) === true) {
        guest.filters.add(filter);
        return done(null, subscription);
      }
      this.#refusals.count("subscriptions that are not allowed", { ...whoIs(guest), filter });
      // Told to the client as a failure of this filter (MQTT 3.1.1 §3.9.3).
      done(null, null);
    },
  };

  constructor(parts: GuestsParts) {
    this.#parts = parts;
    this.#refusals = parts.refusals;
    this.#connections = new Connections(mostConnections, (address) =>
      this.#refusals.count("connections ended because there are too many", { address }),
    );
  }

  /** Counts a connection, as soon as there is one. */
  admit(socket: Socket): void {
    this.#connections.admit(socket);
  }

  /** Keeps the client of an admitted connection; `stream` is what it speaks through, deciphered where it comes by TLS. */
  welcome(client: Client, stream: Socket): void {
    const address = addressOf(stream);
    this.#guests.set(client, { address, stream, filters: new Set() });
    stream.once("close", () => this.#guests.delete(client));
    // The broker reads when told 'readable'; beside that, this sees each piece before the broker does.
    const isSmallEnough = packetGauge(mostPacketBytes);
    stream.on("data", (chunk: Buffer) => {
      if (stream.destroyed || isSmallEnough(chunk)) return;
      this.#refusals.count("packets that are too large", { address });
      stream.destroy();
    });
  }

  unsubscribed(client: Client, filters: readonly string[]): void {
    const guest = this.#guests.get(client);
    for (const filter of filters) guest?.filters.delete(filter);
  }

  /** Counts an error that ends a connection, unless it is one of the network or has been counted. */
  fault(client: Client, error: Error): void {
    if (client.closed || "code" in error || error instanceof Refusal) return;
    this.#refusals.count("connections ended for a fault", { ...whoIs(this.#guests.get(client)), error: error.message });
  }

  /** Ends the connections of collectors whose password has been replaced or taken out. */
  shutOutFormer(): void {
    const { credentials } = this.#parts;
    for (const [client, { collector, address }] of this.#guests) {
      if (collector === undefined || credentials === null) continue;
      let edition: string | null;
      try {
        edition = credentials.editionOf(collector.name);
      } catch (error) {
        // A file that can't be read for a moment shuts nobody out who is in.
        this.#refusals.count("sign-ins that can't be checked", { error: String(error) });
        return;
      }
      if (edition === collector.edition) continue;
      this.#refusals.count("collectors shut out for a password of before", { address, collector: collector.name });
      client.close();
    }
  }

  endAll(): void {
    this.#connections.endAll();
  }

  async #signIn(client: Client, username?: string, password?: Buffer): Promise<Refusal | null> {
    const guest = this.#guests.get(client);
    if (guest === undefined) return new Refusal("gone", 3);
    const { address } = guest;
    try {
      const verdict = await this.#parts.signIn.check(username, password, address);
      if (typeof verdict !== "string") return this.#letIn(guest, verdict);
      this.#refusals.count(
        verdict === "wrong" ? "wrong names or passwords" : "sign-ins refused after too many wrong ones",
        { address },
      );
      return new Refusal("bad user name or password", 4);
    } catch (error) {
      this.#refusals.count("sign-ins that can't be checked", { error: String(error) });
      return new Refusal("server unavailable", 3);
    }
  }

  #letIn(guest: Guest, party: Party): Refusal | null {
    const { shop, credentials } = this.#parts;
    const rights = rightsOf(party, shop);
    const name = party.kind === "collector" ? party.name : null;
    if (guest.will !== undefined && !rights.mayPublish(guest.will)) {
      this.#refusals.count("last wills that are not allowed", { ...whoIs(guest), collector: name, topic: guest.will });
      return new Refusal("not authorized", 5);
    }
    guest.rights = rights;
    if (name !== null) guest.collector = { name, edition: credentials?.editionOf(name) ?? null };
    this.#connections.signedIn(guest.stream, name, party.kind === "program");
    if (party.kind === "collector" || party.kind === "anonymous") this.#waitForNone(guest);
    return null;
  }

  /**
   * A message is read on only when all who hear it have taken the one before, if they ask to be waited for by a `write`
   * that returns false. Nobody from outside shall hold up the program so: who does not take what is sent is ended.
   */
  #waitForNone(guest: Guest): void {
    const { stream, address } = guest;
    const write = stream.write.bind(stream) as (...all: unknown[]) => boolean;
    stream.write = (...all: unknown[]) => {
      write(...all);
      if (stream.writableLength > mostUnsentBytes && !stream.destroyed) {
        this.#refusals.count("connections ended because they do not take what is sent", { address });
        stream.destroy();
      }
      return true;
    };
  }
}

/** A refusal that has been counted. `returnCode`: what CONNACK says (MQTT 3.1.1 table 3.1). */
class Refusal extends Error implements AuthenticateError {
  readonly returnCode: number;

  constructor(message: string, returnCode = 5) {
    super(message);
    this.returnCode = returnCode;
  }
}

function whoIs(guest: Guest | undefined) {
  return { address: guest?.address, ...(guest?.collector && { collector: guest.collector.name }) };
}
