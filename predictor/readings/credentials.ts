/** The names and passwords with which collectors sign in at the embedded broker. docs/broker.md explains the file. */
import { createHash, randomBytes, scrypt, scryptSync, timingSafeEqual } from "node:crypto";
import {
  closeSync,
  existsSync,
  fchownSync,
  fsyncSync,
  mkdirSync,
  openSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from "node:fs";
import { dirname } from "node:path";
import { stringify } from "yaml";
import { z } from "zod";
import { nameSchema } from "../../collector/readings.ts";
import { readYamlFile } from "../yaml-file.ts";
import { programName } from "./broker-rights.ts";

/** The file's name in the data folder. */
export const credentialsFileName = "collectors.yaml";

/** What scrypt (RFC 7914) is asked for: 16 MiB and some 50 ms on a desktop machine. Kept with each entry, so that it can change. */
const presentCost = { n: 2 ** 14, r: 8, p: 1 };
const hashBytes = 32;

const base64 = z.string().regex(/^[A-Za-z0-9+/]+={0,2}$/, "base64 text as --add-collector writes it");
const isPowerOfTwo = (n: number) => Number.isInteger(Math.log2(n));
const entrySchema = z.strictObject({
  salt: base64,
  hash: base64,
  scrypt: z.strictObject({
    // Bounded, so that a damaged file can't make a sign-in take all memory.
    n: z
      .number()
      .min(2 ** 10)
      .max(2 ** 17)
      .refine(isPowerOfTwo, "a power of two"),
    r: z.number().int().min(1).max(16),
    p: z.number().int().min(1).max(4),
  }),
});
type Entry = z.infer<typeof entrySchema>;
const fileSchema = z.strictObject({ collectors: z.record(nameSchema, entrySchema).default({}) });

/**
 * Reads the file again whenever it has changed. A file that is not there holds nobody. Anything else that is wrong with
 * it is thrown: at the constructor, and later by whatever asks.
 */
export class Credentials {
  readonly file: string;
  #version = "";
  #entries = new Map<string, Entry>();
  /** Passwords that were right once, as digests: scrypt is slow by design, and collectors come back often. */
  readonly #proven = new Map<string, { salt: string; digest: Buffer }>();

  constructor(file: string) {
    this.file = file;
    this.#refresh();
  }

  /** Whether this password was right before and still is. Quick. */
  isProven(name: string, password: Buffer): boolean {
    this.#refresh();
    const proven = this.#proven.get(name);
    return (
      proven !== undefined &&
      proven.salt === this.#entries.get(name)?.salt &&
      timingSafeEqual(proven.digest, digestOf(password))
    );
  }

  /** Whether it is the name's password. Takes scrypt's time, beside the event loop; at once for a name that is not there. */
  async isRight(name: string, password: Buffer): Promise<boolean> {
    this.#refresh();
    const entry = this.#entries.get(name);
    if (entry === undefined) return false;
    const expected = Buffer.from(entry.hash, "base64");
    const hash = await hashOf(password, entry);
    if (!(hash.length === expected.length && timingSafeEqual(hash, expected))) return false;
    this.#proven.set(name, { salt: entry.salt, digest: digestOf(password) });
    return true;
  }

  /** Changes when the name gets a new password; null when there is no such name (any more). */
  editionOf(name: string): string | null {
    this.#refresh();
    return this.#entries.get(name)?.salt ?? null;
  }

  #refresh(): void {
    const version = versionOf(this.file);
    if (version === this.#version) return;
    this.#entries = readEntries(this.file);
    this.#version = version;
  }
}

export interface Credential {
  username: string;
  password: string;
}

/** 32 letters and digits that are not mistaken for one another on paper: 5 bits each. */
const alphabet = "abcdefghijkmnpqrstuvwxyz23456789";
const groups = 4;
const groupLength = 5;

/**
 * Makes a password of 100 random bits for a collector and keeps its hash in the file, in place of an earlier one.
 * Whole or not at all: the file is replaced in one step. Run by the superuser, the file goes to the folder's owner.
 */
export function addCollector(file: string, name: string): Credential {
  const collector = nameSchema.safeParse(name);
  if (!collector.success) throw new Error(`--add-collector ${name}: ${collector.error.issues[0]?.message}`);
  if (name === programName) {
    throw new Error(
      `--add-collector ${name}: the program itself signs in under this name. Name the collector otherwise.`,
    );
  }
  mkdirSync(dirname(file), { recursive: true });
  const entries = existsSync(file) ? readEntries(file) : new Map<string, Entry>();
  const password = newPassword();
  const salt = randomBytes(16).toString("base64");
  const hash = scryptSync(password, Buffer.from(salt, "base64"), hashBytes, scryptOptions(presentCost));
  entries.set(name, { salt, hash: hash.toString("base64"), scrypt: presentCost });
  writeWhole(file, `${heading}${stringify({ collectors: Object.fromEntries(entries) })}`);
  return { username: name, password };
}

const heading = `# Collectors that may sign in at Coatclock's own broker. Written by npm start -- --add-collector NAME.
# Passwords are not in here, only what proves them. Take an entry out, and that collector is shut out within seconds.
`;

export interface OtherMachine {
  /** Of the machine with the broker, as the other machine finds it. */
  host: string;
  port: number;
  /** Whether the broker's settings name a certificate. */
  tls: boolean;
  listen: "this-machine" | "network";
}

/** What to put down on the other machine, in words. It holds the password: to be shown once, and not logged. */
export function threeLines({ username, password }: Credential, { host, port, tls, listen }: OtherMachine): string {
  const file = `${username}.yaml`;
  const caFile = tls ? ", caFile: shop-ca.pem" : "";
  const notes = [
    ...(tls
      ? ["Copy the shop's own shop-ca.pem (never its key) beside the shop file there, too: see docs/broker.md."]
      : []),
    ...(tls ? [] : ["Without TLS the password and the readings cross the network in the clear: see docs/broker.md."]),
    ...(listen === "network"
      ? []
      : [
          "This broker listens on this machine only. In the shop file here, set broker.listen: network, and start again.",
        ]),
  ];
  return `${username} may sign in now. The password is shown this once and kept nowhere here.

On the other machine, write these two lines into ${file} beside its shop file, then run: chmod 600 ${file}

    username: ${username}
    password: ${password}

In the shop file there:

    broker: { kind: address, url: "${tls ? "mqtts" : "mqtt"}://${host}:${port}", protocol: "3.1.1", credentialsFile: ${file}${caFile} }

${notes.join("\n")}`;
}

function newPassword(): string {
  // 32 divides 256, so each letter is as likely as any other.
  const letters = Array.from(randomBytes(groups * groupLength), (byte) => alphabet[byte % alphabet.length]).join("");
  return Array.from({ length: groups }, (_, n) => letters.slice(n * groupLength, (n + 1) * groupLength)).join("-");
}

function scryptOptions({ n, r, p }: Entry["scrypt"]) {
  return { N: n, r, p, maxmem: 2 * 128 * n * r * p };
}

function hashOf(password: Buffer, entry: Entry): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    scrypt(password, Buffer.from(entry.salt, "base64"), hashBytes, scryptOptions(entry.scrypt), (error, hash) => {
      if (error) reject(error);
      else resolve(hash);
    });
  });
}

function digestOf(password: Buffer): Buffer {
  return createHash("sha256").update(password).digest();
}

function versionOf(file: string): string {
  const stats = statSync(file, { bigint: true, throwIfNoEntry: false });
  return stats === undefined ? "none" : [stats.ino, stats.mtimeNs, stats.ctimeNs, stats.size].join(" ");
}

function readEntries(file: string): Map<string, Entry> {
  const stats = statSync(file, { throwIfNoEntry: false });
  if (stats === undefined) return new Map();
  if ((stats.mode & 0o077) !== 0) {
    throw new Error(`${file} holds what proves passwords and others may read it. Run: chmod 600 ${file}`);
  }
  return new Map(Object.entries(readYamlFile(file, fileSchema).value.collectors));
}

function writeWhole(file: string, text: string): void {
  const folder = dirname(file);
  const fresh = `${file}.${process.pid}.new`;
  try {
    const handle = openSync(fresh, "wx", 0o600);
    try {
      writeSync(handle, text);
      if (process.getuid?.() === 0) {
        const { uid, gid } = statSync(folder);
        fchownSync(handle, uid, gid);
      }
      fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
    renameSync(fresh, file);
  } catch (error) {
    rmSync(fresh, { force: true });
    throw error;
  }
  const handle = openSync(folder, "r");
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
