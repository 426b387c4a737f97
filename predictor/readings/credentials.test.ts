import { chmodSync, chownSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { parse } from "yaml";
import { addCollector, Credentials, threeLines } from "./credentials.ts";

let folder: string;
let file: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-credentials-"));
  file = join(folder, "collectors.yaml");
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const isRight = (credentials: Credentials, name: string, password: string) =>
  credentials.isRight(name, Buffer.from(password));

describe("credentials of collectors", () => {
  it("know a collector by its own password only", async () => {
    const booth = addCollector(file, "booth");
    const yard = addCollector(file, "yard");
    const credentials = new Credentials(file);
    expect(await isRight(credentials, "booth", booth.password)).toBe(true);
    expect(await isRight(credentials, "yard", yard.password)).toBe(true);
    expect(await isRight(credentials, "booth", yard.password)).toBe(false);
    expect(await isRight(credentials, "booth", "")).toBe(false);
    expect(await isRight(credentials, "hall", booth.password)).toBe(false);
    expect(await isRight(credentials, "constructor", booth.password)).toBe(false);
  });

  it("are made of 100 random bits in letters that are not mistaken, and are kept in no file", () => {
    const passwords = Array.from({ length: 3 }, (_, n) => addCollector(file, `c-${n}`).password);
    for (const password of passwords) {
      expect(password).toMatch(/^([a-km-np-z2-9]{5}-){3}[a-km-np-z2-9]{5}$/);
      expect(readFileSync(file, "utf8")).not.toContain(password);
    }
    expect(new Set(passwords).size).toBe(3);
  });

  it("are replaced for a collector that is added again, while it is running, and are gone when taken out", async () => {
    const credentials = new Credentials(file);
    const lost = addCollector(file, "booth");
    expect(await isRight(credentials, "booth", lost.password)).toBe(true);
    expect(credentials.isProven("booth", Buffer.from(lost.password))).toBe(true);
    const edition = credentials.editionOf("booth");
    const found = addCollector(file, "booth");
    expect(credentials.isProven("booth", Buffer.from(lost.password))).toBe(false);
    expect(await isRight(credentials, "booth", lost.password)).toBe(false);
    expect(credentials.editionOf("booth")).not.toBe(edition);
    expect(await isRight(credentials, "booth", found.password)).toBe(true);
    writeFileSync(file, "collectors: {}\n");
    expect(credentials.isProven("booth", Buffer.from(found.password))).toBe(false);
    expect(credentials.editionOf("booth")).toBeNull();
  });

  it("are proven quickly once they were right, and only then", async () => {
    const { password } = addCollector(file, "booth");
    const credentials = new Credentials(file);
    expect(credentials.isProven("booth", Buffer.from(password))).toBe(false);
    await isRight(credentials, "booth", "wrong");
    expect(credentials.isProven("booth", Buffer.from("wrong"))).toBe(false);
    await isRight(credentials, "booth", password);
    expect(credentials.isProven("booth", Buffer.from(password))).toBe(true);
    expect(credentials.isProven("booth", Buffer.from("wrong"))).toBe(false);
  });

  it("lie in a file for its owner alone, and are refused from one that others may read", async () => {
    const { password } = addCollector(file, "booth");
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(readdirSync(folder)).toEqual(["collectors.yaml"]);
    const credentials = new Credentials(file);
    chmodSync(file, 0o640);
    expect(() => new Credentials(file)).toThrow(`chmod 600 ${file}`);
    await expect(isRight(credentials, "booth", password)).rejects.toThrow(`chmod 600 ${file}`);
    expect(() => addCollector(file, "yard")).toThrow(`chmod 600 ${file}`);
    chmodSync(file, 0o600);
    expect(await isRight(credentials, "booth", password)).toBe(true);
  });

  it.runIf(process.getuid?.() === 0)("go to the owner of the data folder when the superuser makes them", () => {
    chownSync(folder, 4321, 4322);
    addCollector(file, "booth");
    expect(statSync(file)).toMatchObject({ uid: 4321, gid: 4322 });
  });

  it("are refused from a damaged file, with the line that is wrong", () => {
    addCollector(file, "booth");
    writeFileSync(file, readFileSync(file, "utf8").replace("n: 16384", "n: 16385"));
    expect(() => new Credentials(file)).toThrow(
      /collectors\.yaml:\d+ collectors\.booth\.scrypt\.n: expected a power of two/,
    );
    writeFileSync(file, readFileSync(file, "utf8").replace("n: 16385", "n: 1073741824"));
    expect(() => new Credentials(file)).toThrow("collectors.booth.scrypt.n");
  });

  it("are not made for names that can't be a collector's", () => {
    for (const name of ["Booth", "a/b", "", "../x", "coatclock"]) {
      expect(() => addCollector(file, name)).toThrow("--add-collector");
    }
    expect(readdirSync(folder)).toEqual([]);
  });

  it("can be those of any name of a collector, also one that objects inherit", async () => {
    const { password } = addCollector(file, "constructor");
    expect(await isRight(new Credentials(file), "constructor", password)).toBe(true);
  });
});

describe("what to put down on the other machine", () => {
  const credential = { username: "booth-pi", password: "abcde-fghij-kmnpq-rstuv" };
  const lines = (text: string) => text.split("\n").map((line) => line.trim());

  it("is a line for its shop file and two lines for its credentials, as YAML that is read there", () => {
    const text = threeLines(credential, { host: "paint-pi.local", port: 1883, tls: false, listen: "network" });
    const brokerLine = lines(text).find((line) => line.startsWith("broker:")) ?? "";
    expect(parse(brokerLine)).toEqual({
      broker: {
        kind: "address",
        url: "mqtt://paint-pi.local:1883",
        protocol: "3.1.1",
        credentialsFile: "booth-pi.yaml",
      },
    });
    const from = lines(text).indexOf("username: booth-pi");
    expect(
      parse(
        lines(text)
          .slice(from, from + 2)
          .join("\n"),
      ),
    ).toEqual(credential);
    expect(text).toContain("chmod 600 booth-pi.yaml");
    expect(text).toContain("in the clear");
    expect(text).not.toContain("broker.listen");
  });

  it("names the authority's file with TLS, and what is missing while the broker listens here only", () => {
    const text = threeLines(credential, { host: "paint-pi.local", port: 8883, tls: true, listen: "this-machine" });
    const brokerLine = lines(text).find((line) => line.startsWith("broker: {")) ?? "";
    expect(parse(brokerLine)).toMatchObject({ broker: { url: "mqtts://paint-pi.local:8883", caFile: "shop-ca.pem" } });
    expect(text).toContain("set broker.listen: network");
    expect(text).not.toContain("in the clear");
  });
});
