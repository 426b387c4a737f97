import { spawnSync } from "node:child_process";
import { chmodSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { readCertificate } from "./certificate.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-certificate-"));
const at = (name: string) => join(folder, name);

function make(name: string, days: number, passphrase?: string): void {
  const secrecy = passphrase === undefined ? ["-nodes"] : ["-passout", `pass:${passphrase}`];
  const curve = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1"];
  const args = ["req", "-x509", ...curve, ...secrecy, "-days", String(days), "-subj", "/CN=x"];
  const { status, stderr } = spawnSync("openssl", [...args, "-keyout", at(`${name}.key`), "-out", at(`${name}.pem`)]);
  if (status !== 0) throw new Error(`openssl: ${stderr}`);
}

beforeAll(() => {
  make("one", 2);
  make("other", 2);
  make("locked", 2, "secret");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("the broker's certificate", () => {
  it("is read with its key and tells when it ends", () => {
    const { cert, key, validToMs } = readCertificate(at("one.pem"), at("one.key"));
    expect(cert).toContain("BEGIN CERTIFICATE");
    expect(key).toContain("PRIVATE KEY");
    expect(Math.abs(validToMs - Date.now() - 2 * 86_400_000)).toBeLessThan(60_000);
  });

  it("is refused in words where it can't serve", () => {
    expect(() => readCertificate(at("none.pem"), at("one.key"))).toThrow(
      /none\.pem \(broker\.certFile\) can't be read/,
    );
    expect(() => readCertificate(at("one.pem"), at("none.key"))).toThrow(/none\.key \(broker\.keyFile\) can't be read/);
    expect(() => readCertificate(at("one.pem"), at("other.key"))).toThrow("is not the key of the certificate");
    expect(() => readCertificate(at("one.key"), at("one.key"))).toThrow("expected a certificate in PEM form");
    expect(() => readCertificate(at("locked.pem"), at("locked.key"))).toThrow("without a passphrase");
    writeFileSync(at("empty.key"), "", { mode: 0o600 });
    expect(() => readCertificate(at("one.pem"), at("empty.key"))).toThrow("expected a private key");
  });

  it("is refused while others may read the key", () => {
    chmodSync(at("one.key"), 0o644);
    expect(() => readCertificate(at("one.pem"), at("one.key"))).toThrow(`chmod 600 ${at("one.key")}`);
    chmodSync(at("one.key"), 0o600);
  });
});
