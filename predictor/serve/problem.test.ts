import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import express, { type Request } from "express";
import { pino } from "pino";
import { afterEach, describe, expect, it } from "vitest";
import { type Language, wordsOf } from "../../words/words.ts";
import { PinBusy } from "../people/pin.ts";
import { StoreAway } from "../readings/store.ts";
import { problemHandler } from "./problem.ts";

const shop = { timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } } as const;
const wordsOfReader = ({ query }: Request) => wordsOf({ ...shop, language: query.language as Language });

let server: Server;
afterEach(() => server.close());

/** What is answered where a handler throws this. */
async function answerTo(error: Error, language: Language): Promise<{ status: number; detail: string }> {
  const app = express();
  app.get("/", () => {
    throw error;
  });
  app.use(problemHandler(pino({ level: "silent" }), wordsOfReader));
  server = createServer(app);
  await new Promise<void>((started) => server.listen(0, started));
  const { port } = server.address() as AddressInfo;
  const response = await fetch(`http://127.0.0.1:${port}/?language=${language}`);
  return (await response.json()) as { status: number; detail: string };
}

const fullDisk = Object.assign(new Error("database or disk is full"), { code: "SQLITE_FULL" });

describe("a failure", () => {
  it.each([
    ["a full disk", fullDisk, 507, "The disk does not take it", "Der Datenträger nimmt es nicht an"],
    ["one of our own", new Error("oops"), 500, "Coatclock failed at this", "Coatclock ist daran gescheitert"],
    ["a store that is away", new StoreAway("InfluxDB"), 503, "The store of readings is away", "nicht erreichbar"],
    ["many who sign in", new PinBusy(), 429, "Too many are signing in", "Gerade melden sich zu viele an"],
  ])("such as %s is told in the words of whoever asks", async (_which, error, status, english, german) => {
    const answer = await answerTo(error, "en");
    expect(answer).toMatchObject({ status, detail: expect.stringContaining(english) });
    expect(answer.detail).not.toContain("oops");
    server.close();
    expect(await answerTo(error, "de")).toMatchObject({ status, detail: expect.stringContaining(german) });
  });
});
