/** The embedded broker open to a network by TLS, with an authority of the shop's own that openssl makes here. */
import { spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type ConnectionOptions, connect as dialTls } from "node:tls";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { readCertificate } from "../../predictor/readings/certificate.ts";
import { hello, nextMessage, OpenBroker, ownAddress, signedInAs, topics } from "./open-broker.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-own-authority-"));
const at = (name: string) => join(folder, name);
const pem = (name: string) => readFileSync(at(name), "utf8");
/** With a certificate of the shop's authority, and with one that has expired. */
let open: OpenBroker;
let expired: OpenBroker;
const urlOf = ({ broker }: OpenBroker) => `mqtts://${ownAddress}:${broker.port}`;

beforeAll(async () => {
  makeAuthority("shop-ca");
  makeAuthority("foreign-ca");
  open = await OpenBroker.start(() => ({ tls: makeCertificate("broker", 2) }));
  expired = await OpenBroker.start(() => ({ tls: makeCertificate("former", -1) }));
});
afterEach(() => {
  open.endClients();
  expired.endClients();
});
afterAll(async () => {
  await open.stop();
  await expired.stop();
  rmSync(folder, { recursive: true, force: true });
});

describe("the embedded broker with the shop's own certificate", () => {
  it("carries a collector's readings to the program, which needs no certificate", async () => {
    await open.program.subscribeAsync(topics.allReadings, { qos: 1 });
    const arrived = nextMessage(open.program);
    const collector = await open.connect({ ...signedInAs(open.booth), ca: pem("shop-ca.pem") }, urlOf(open));
    await collector.publishAsync(topics.readings("booth"), "[1]", { qos: 1 });
    expect(await arrived).toBe("[1]");
  });

  it("takes mosquitto_pub with the authority's file", async () => {
    const { username, password } = open.booth;
    const signIn = ["--cafile", at("shop-ca.pem"), "-u", username, "-P", password];
    const message = ["-q", "1", "-t", topics.readings("booth"), "-m", "[2]"];
    expect(await open.mosquitto("pub", ...signIn, ...message)).toEqual({ status: 0, output: "" });
  });

  it("says to a collector that its password is wrong", async () => {
    const wrong = { username: "booth", password: "wrong", ca: pem("shop-ca.pem") };
    await expect(open.connect(wrong, urlOf(open))).rejects.toThrow("Bad username or password");
  });

  it("is refused by a collector that knows another authority or none", async () => {
    const signIn = signedInAs(open.booth);
    for (const ca of [{ ca: pem("foreign-ca.pem") }, {}]) {
      await expect(open.connect({ ...signIn, ...ca }, urlOf(open))).rejects.toThrow("unable to verify");
    }
    expect(open.refusals("TLS that did not come about")).toBeGreaterThan(0);
  });

  it("is refused by a collector once its certificate has expired, and has said so at its start", async () => {
    const signIn = { ...signedInAs(expired.booth), ca: pem("shop-ca.pem") };
    await expect(expired.connect(signIn, urlOf(expired))).rejects.toThrow("expired");
    expect(expired.log).toContain("the broker's certificate has ended");
    expect(open.log).toContain("the broker's certificate ends soon");
  });

  it("speaks TLS 1.2 and 1.3, and nothing older", async () => {
    // Without the lowered security level it would be this client that refuses the old ones.
    const ciphers = "DEFAULT@SECLEVEL=0";
    for (const version of ["TLSv1.2", "TLSv1.3"] as const) {
      expect(await protocolWith({ minVersion: version, maxVersion: version })).toBe(version);
    }
    for (const version of ["TLSv1", "TLSv1.1"] as const) {
      await expect(protocolWith({ minVersion: version, maxVersion: version, ciphers })).rejects.toThrow(
        "alert protocol version",
      );
    }
  });

  it("gives nothing to who speaks without TLS", async () => {
    const plain = await open.raw();
    let answer = "";
    plain.on("data", (chunk: Buffer) => {
      answer += chunk.toString("latin1");
    });
    plain.write(hello());
    await once(plain, "close");
    // A CONNACK would begin with 0x20 (MQTT 3.1.1 §3.2.1); a TLS alert may come, which begins with 0x15.
    expect(answer).not.toMatch(/^\x20/);
  });
});

async function protocolWith(options: ConnectionOptions): Promise<string | null> {
  const socket = dialTls({ host: ownAddress, port: open.broker.port, ca: pem("shop-ca.pem"), ...options });
  try {
    await once(socket, "secureConnect");
    return socket.getProtocol();
  } finally {
    socket.destroy();
  }
}

function openssl(command: string): void {
  const { status, stderr } = spawnSync("openssl", command.split(" "), { cwd: folder, encoding: "utf8" });
  if (status !== 0) throw new Error(`openssl ${command}: ${stderr}`);
}

const newKey = "-newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes";

function makeAuthority(name: string): void {
  openssl(`req -x509 ${newKey} -days 5 -subj /CN=${name} -keyout ${name}.key -out ${name}.pem`);
}

function makeCertificate(name: string, days: number) {
  openssl(`req -new ${newKey} -subj /CN=broker -keyout ${name}.key -out ${name}.csr`);
  writeFileSync(at("names"), `subjectAltName=IP:${ownAddress},DNS:localhost\n`);
  const authority = "-CA shop-ca.pem -CAkey shop-ca.key -CAcreateserial";
  openssl(`x509 -req -in ${name}.csr ${authority} -days ${days} -extfile names -out ${name}.pem`);
  return readCertificate(at(`${name}.pem`), at(`${name}.key`));
}
