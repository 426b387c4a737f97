/** The pages by HTTPS with a certificate of the shop's own authority, which openssl makes here. */
import { spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import type { IncomingMessage } from "node:http";
import { request } from "node:https";
import { connect } from "node:net";
import { networkInterfaces, tmpdir } from "node:os";
import { join } from "node:path";
import { text } from "node:stream/consumers";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { readCertificate } from "../../predictor/readings/certificate.ts";
import { openShop, type ServedShop, testPin } from "../served-shop.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-https-"));
const at = (name: string) => join(folder, name);
let shop: ServedShop;
let port: number;

function openssl(command: string): void {
  const { status, stderr } = spawnSync("openssl", command.split(" "), { cwd: folder, encoding: "utf8" });
  if (status !== 0) throw new Error(`openssl ${command}: ${stderr}`);
}

beforeAll(async () => {
  const newKey = "-newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes";
  openssl(`req -x509 ${newKey} -days 5 -subj /CN=shop-ca -keyout shop-ca.key -out shop-ca.pem`);
  openssl(`req -new ${newKey} -subj /CN=pages -keyout pages.key -out pages.csr`);
  writeFileSync(at("names"), "subjectAltName=DNS:localhost\n");
  openssl(
    "x509 -req -in pages.csr -CA shop-ca.pem -CAkey shop-ca.key -CAcreateserial -days 2 -extfile names -out pages.pem",
  );
  shop = await openShop("", { tls: { tls: readCertificate(at("pages.pem"), at("pages.key"), "https"), port: 0 } });
  port = shop.server.httpsPort ?? 0;
});
afterAll(async () => {
  await shop.close();
  rmSync(folder, { recursive: true, force: true });
});

interface Asked {
  path: string;
  method?: string;
  headers?: Record<string, string>;
  body?: string;
}

async function ask({ path, method = "GET", headers = {}, body = "" }: Asked) {
  const ca = readFileSync(at("shop-ca.pem"));
  const asking = request({
    host: "localhost",
    port,
    path,
    method,
    headers,
    ca,
    servername: "localhost",
    agent: false,
  }).end(body);
  const [response] = (await once(asking, "response")) as [IncomingMessage];
  return { status: response.statusCode, headers: response.headers, text: await text(response) };
}

const json = { "content-type": "application/json" };

describe("the pages by HTTPS", () => {
  it("stand there, and tell browsers to come by HTTPS only", async () => {
    const { status, headers } = await ask({ path: "/" });
    expect(status).toBe(200);
    expect(headers["strict-transport-security"]).toBe("max-age=2592000");
  });

  it("give cookies that go by TLS only, and take entries from their own address", async () => {
    const body = JSON.stringify({ name: "Painter A", pin: testPin });
    const { headers } = await ask({ path: "/api/sign-in", method: "POST", headers: json, body });
    expect(headers["set-cookie"]).toHaveLength(2);
    for (const cookie of headers["set-cookie"] ?? []) expect(cookie).toMatch(/; HttpOnly; Secure; SameSite=Strict/);
    const cookie = (headers["set-cookie"] ?? []).map((each) => each.split(";")[0]).join("; ");
    const car = JSON.stringify({ job: "J-7", name: "Grey van", place: "booth", panels: [{ name: "bonnet" }] });
    const enter = (origin: string) =>
      ask({ path: "/api/cars", method: "POST", headers: { ...json, cookie, origin }, body: car });
    expect((await enter(`https://localhost:${port}`)).status).toBe(201);
    expect((await enter(`http://localhost:${port}`)).status).toBe(403);
  });

  it("answer to no name that is not ours", async () => {
    expect((await ask({ path: "/", headers: { host: "rebound.example" } })).status).toBe(421);
  });

  it("give nothing to who speaks without TLS", async () => {
    const plain = connect(port, "127.0.0.1");
    plain.end("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n");
    expect(await text(plain)).not.toContain("<title>");
  });
});

/** An address of this machine that others on its network would use. */
const fromOutside = Object.values(networkInterfaces())
  .flat()
  .find((each) => each?.family === "IPv4" && !each.internal)?.address;

describe("the port without TLS beside it", () => {
  it("serves this machine, and tells it nothing of HTTPS only", async () => {
    const response = await fetch(shop.base);
    expect(response.status).toBe(200);
    expect(response.headers.has("strict-transport-security")).toBe(false);
  });

  it.skipIf(fromOutside === undefined)("is not there for the network", async () => {
    await expect(fetch(`http://${fromOutside}:${shop.server.port}/`)).rejects.toThrow("fetch failed");
  });
});
