/** Decides who a connection to the embedded broker is. Guessing is slowed for each address, without shutting out who is known. */
import { createHash, randomBytes, timingSafeEqual } from "node:crypto";
import { type Party, programName } from "./broker-rights.ts";
import type { Credential, Credentials } from "./credentials.ts";

/** Wrong passwords an address may try in one go, and how soon each is forgiven: twelve a minute in the long run. */
const mostFailures = 10;
const forgivenAfterMs = 5_000;

export type Verdict = Party | "wrong" | "too many wrong";

export interface SignInParts {
  /** Whether a name and password are asked for; else whoever comes in is `local`. */
  asks: boolean;
  /** Null: there are no collectors that sign in. */
  credentials: Credentials | null;
  /** A monotonic clock. */
  nowMs?: () => number;
}

export class SignIn {
  /** How the program itself signs in; made anew at each start. */
  readonly own: Credential = { username: programName, password: randomBytes(32).toString("base64url") };
  readonly #ownDigest = digestOf(Buffer.from(this.own.password));
  readonly #asks: boolean;
  readonly #credentials: Credentials | null;
  readonly #nowMs: () => number;
  readonly #failures = new Map<string, { count: number; atMs: number }>();
  /** One password is proven at a time: it takes memory and a thread that the store and the files need as well. */
  #proving: Promise<unknown> = Promise.resolve();

  constructor({ asks, credentials, nowMs = () => performance.now() }: SignInParts) {
    this.#asks = asks;
    this.#credentials = credentials;
    this.#nowMs = nowMs;
  }

  /** Rejects when the credentials can't be read. */
  async check(username: string | undefined, password: Buffer | undefined, address: string): Promise<Verdict> {
    const isNamed = username !== undefined && username !== "";
    if (isNamed && username === programName) {
      const isOwn = timingSafeEqual(digestOf(password ?? Buffer.alloc(0)), this.#ownDigest);
      return isOwn ? { kind: "program" } : "wrong";
    }
    if (!this.#asks) return { kind: "local" };
    if (!isNamed) return { kind: "anonymous" };
    const credentials = this.#credentials;
    if (credentials === null || password === undefined) return "wrong";
    const party: Party = { kind: "collector", name: username };
    // Ahead of the count of failures: those of a neighbour on the same address do not shut out a collector that is known.
    if (credentials.isProven(username, password)) return party;
    const proof = this.#proving.then(() => this.#prove(credentials, username, password, address));
    this.#proving = proof.catch(() => undefined);
    const verdict = await proof;
    return verdict === "right" ? party : verdict;
  }

  async #prove(credentials: Credentials, username: string, password: Buffer, address: string) {
    if (credentials.isProven(username, password)) return "right";
    if (this.#failuresOf(address) > mostFailures - 1) return "too many wrong";
    if (await credentials.isRight(username, password)) return "right";
    this.#failures.set(address, { count: this.#failuresOf(address) + 1, atMs: this.#nowMs() });
    return "wrong";
  }

  /** Not a whole number: failures are forgiven little by little. */
  #failuresOf(address: string): number {
    const nowMs = this.#nowMs();
    for (const [each, { count, atMs }] of this.#failures) {
      if (nowMs - atMs > count * forgivenAfterMs) this.#failures.delete(each);
    }
    const failures = this.#failures.get(address);
    return failures === undefined ? 0 : failures.count - (nowMs - failures.atMs) / forgivenAfterMs;
  }
}

function digestOf(password: Buffer): Buffer {
  return createHash("sha256").update(password).digest();
}
