/** A certificate and its key, the broker's or that of the pages, read and checked so that what is wrong is said in words. */
import { createPrivateKey, type KeyObject, X509Certificate } from "node:crypto";
import { readFileSync, statSync } from "node:fs";

export interface Certificate {
  /** PEM text: the machine's certificate first, then those between it and the authority, if any. */
  cert: string;
  /** PEM text. */
  key: string;
  /** When the certificate ends, UTC milliseconds. */
  validToMs: number;
}

/** Reads the PEM files that the shop file names under `of`; throws an Error that says what to do when they can't serve. An expired certificate is not an error here. */
export function readCertificate(certFile: string, keyFile: string, of: "broker" | "https" = "broker"): Certificate {
  const cert = read(certFile, `${of}.certFile`);
  const key = read(keyFile, `${of}.keyFile`);
  if ((statSync(keyFile).mode & 0o077) !== 0) {
    throw new Error(`${keyFile} is a secret key and others may read it. Run: chmod 600 ${keyFile}`);
  }
  const certificate = parsed(certFile, "a certificate in PEM form", () => new X509Certificate(cert));
  const privateKey: KeyObject = parsed(keyFile, "a private key in PEM form without a passphrase", () =>
    createPrivateKey(key),
  );
  if (!certificate.checkPrivateKey(privateKey)) {
    throw new Error(
      `${keyFile} is not the key of the certificate in ${certFile}: make both anew, or name the right pair.`,
    );
  }
  return { cert, key, validToMs: Date.parse(certificate.validTo) };
}

function read(file: string, setting: string): string {
  try {
    return readFileSync(file, "utf8");
  } catch (error) {
    throw new Error(
      `${file} (${setting}) can't be read: ${(error as Error).message}. docs/broker.md says how to make it.`,
    );
  }
}

function parsed<T>(file: string, expected: string, parse: () => T): T {
  try {
    return parse();
  } catch (error) {
    throw new Error(`${file}: expected ${expected}: ${(error as Error).message}`);
  }
}
