import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createServer, get, type IncomingHttpHeaders, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import express from "express";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { pageFiles } from "./page-files.ts";

const script = "export const coats = 3;\n".repeat(40);
const packed = gzipSync(script);
let folder: string;
let server: Server;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-page-files-"));
  writeFileSync(join(folder, "wall-1.js"), script);
  writeFileSync(join(folder, "wall-1.js.gz"), packed);
  writeFileSync(join(folder, "icon-1.svg"), "<svg/>");
  server = createServer(express().use("/assets", pageFiles(folder)));
  await new Promise<void>((started) => server.listen(0, "127.0.0.1", started));
});
afterAll(() => {
  server.close();
  rmSync(folder, { recursive: true, force: true });
});

/** As it comes over the wire. */
function got(path: string, headers: Record<string, string>) {
  const { port } = server.address() as AddressInfo;
  return new Promise<{ status: number | undefined; headers: IncomingHttpHeaders; body: Buffer }>((resolve, reject) => {
    get({ host: "127.0.0.1", port, path, headers }, async (response) => {
      const chunks: Buffer[] = [];
      for await (const chunk of response) chunks.push(chunk as Buffer);
      resolve({ status: response.statusCode, headers: response.headers, body: Buffer.concat(chunks) });
    }).on("error", reject);
  });
}

describe("pageFiles", () => {
  it("sends what the build packed, as what it is, to keep for good", async () => {
    const { status, headers, body } = await got("/assets/wall-1.js", { "accept-encoding": "br, gzip, deflate" });
    expect(status).toBe(200);
    expect(headers).toMatchObject({ "content-encoding": "gzip", vary: "Accept-Encoding" });
    expect(headers["content-type"]).toMatch(/^text\/javascript/);
    expect(headers["cache-control"]).toBe("public, max-age=31536000, immutable");
    expect(body.equals(packed)).toBe(true);
  });
  it.each([{}, { "accept-encoding": "br" }, { "accept-encoding": "gzip;q=0, identity" }])(
    "sends the file itself to whoever asks with %o",
    async (headers: Record<string, string>) => {
      const answer = await got("/assets/wall-1.js", headers);
      expect(answer.headers).not.toHaveProperty("content-encoding");
      expect(answer.headers).toMatchObject({ vary: "Accept-Encoding" });
      expect(answer.body.toString()).toBe(script);
    },
  );
  it("sends a file that is not packed as it is, and says so of one that is not there", async () => {
    expect((await got("/assets/icon-1.svg", { "accept-encoding": "gzip" })).body.toString()).toBe("<svg/>");
    expect((await got("/assets/none.js", { "accept-encoding": "gzip" })).status).toBe(404);
    expect((await got("/assets/..%2f..%2fetc%2fpasswd", { "accept-encoding": "gzip" })).status).toBeGreaterThan(399);
    expect((await got("/assets/", { "accept-encoding": "gzip" })).status).toBe(404);
  });
});
