/** A PIN as it is kept: only as a hash that is slow to make, so that a stolen file does not give the PINs away at once. */
import { randomBytes, randomInt, scrypt, timingSafeEqual } from "node:crypto";

/** scrypt (RFC 7914) with 32 MiB: some 100 ms on a desktop machine. Kept with each hash, so that it can change. */
const presentCost = { n: 2 ** 15, r: 8, p: 1 };
const hashBytes = 32;
/** More at once would take the machine from those who paint; the rest wait their turn. */
const atOnce = 2;
const waitingAtMost = 40;

export interface PinHash {
  salt: string;
  hash: string;
  n: number;
  r: number;
  p: number;
}

/** Too many wait to be let in. */
export class PinBusy extends Error {}

let running = 0;
const waiting: (() => void)[] = [];

/** 4 to 12 digits; what does not fit is refused where it comes in. */
export async function hashPin(pin: string): Promise<PinHash> {
  const salt = randomBytes(16).toString("base64");
  return { salt, hash: (await slowHash(pin, salt, presentCost)).toString("base64"), ...presentCost };
}

/** Whether a PIN is the one that was hashed. Without a hash it takes as long, and is not. */
export async function isPin(pin: string, kept: PinHash | null): Promise<boolean> {
  const { salt, hash, ...cost } = kept ?? { salt: "AAAA", hash: "", ...presentCost };
  const found = await slowHash(pin, salt, cost);
  const expected = Buffer.from(hash, "base64");
  return expected.length === found.length && timingSafeEqual(found, expected);
}

/** Six digits, for whoever has forgotten theirs. */
export function newPinToHandOver(): string {
  return String(randomInt(1_000_000)).padStart(6, "0");
}

async function slowHash(pin: string, salt: string, { n, r, p }: Pick<PinHash, "n" | "r" | "p">): Promise<Buffer> {
  if (running >= atOnce) {
    if (waiting.length >= waitingAtMost) throw new PinBusy("too many are signing in at this moment");
    await new Promise<void>((go) => waiting.push(go));
  } else running += 1;
  try {
    return await new Promise<Buffer>((resolve, reject) => {
      const options = { N: n, r, p, maxmem: 256 * n * r };
      scrypt(pin, Buffer.from(salt, "base64"), hashBytes, options, (error, key) =>
        error === null ? resolve(key) : reject(error),
      );
    });
  } finally {
    // Whoever waits takes over the place of the one who leaves.
    const next = waiting.shift();
    if (next === undefined) running -= 1;
    else next();
  }
}
