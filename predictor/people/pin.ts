/** A PIN as it is kept: only as a hash that is slow to make, so that a stolen file does not give the PINs away at once. */
import { randomBytes, randomInt, scrypt, timingSafeEqual } from "node:crypto";
import { conflict } from "../records/record-fault.ts";
import { isEasyPin } from "./easy-pin.ts";

/** scrypt (RFC 7914) with 32 MiB: some 100 ms on a desktop machine. Kept with each hash, so that it can change. */
const presentCost = { n: 2 ** 15, r: 8, p: 1 };
const hashBytes = 32;
/** More at once would take the machine from those who paint; the rest wait their turn. */
const atOnce = 2;

/** Who asks: from a device or session known to the person, or from anywhere. The known come first. */
export type Turn = "known" | "stranger";
const waitingAtMost: Record<Turn, number> = { known: 40, stranger: 20 };

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
const waiting: Record<Turn, (() => void)[]> = { known: [], stranger: [] };

/** 4 to 12 digits; what does not fit is refused where it comes in. Throws RecordFault for one that is easy to guess. */
export async function hashPin(pin: string): Promise<PinHash> {
  if (isEasyPin(pin)) throw conflict("pin.easy");
  const salt = randomBytes(16).toString("base64");
  return { salt, hash: (await slowHash(pin, salt, presentCost, "known")).toString("base64"), ...presentCost };
}

/** Whether a PIN is the one that was hashed. Without a hash it takes as long, and is not. */
export async function isPin(pin: string, kept: PinHash | null, turn: Turn): Promise<boolean> {
  const { salt, hash, ...cost } = kept ?? { salt: "AAAA", hash: "", ...presentCost };
  const found = await slowHash(pin, salt, cost, turn);
  const expected = Buffer.from(hash, "base64");
  return expected.length === found.length && timingSafeEqual(found, expected);
}

/** Six digits, for whoever has forgotten theirs. */
export function newPinToHandOver(): string {
  const pin = String(randomInt(1_000_000)).padStart(6, "0");
  return isEasyPin(pin) ? newPinToHandOver() : pin;
}

async function slowHash(
  pin: string,
  salt: string,
  { n, r, p }: Pick<PinHash, "n" | "r" | "p">,
  turn: Turn,
): Promise<Buffer> {
  if (running >= atOnce) {
    if (waiting[turn].length >= waitingAtMost[turn]) throw new PinBusy("too many are signing in at this moment");
    await new Promise<void>((go) => waiting[turn].push(go));
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
    const next = waiting.known.shift() ?? waiting.stranger.shift();
    if (next === undefined) running -= 1;
    else next();
  }
}
