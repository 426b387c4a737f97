/**
 * What comes as a request and is none must harm nobody: it is refused with a problem, never with a failure of ours, and the
 * pages between are served as ever. COATCLOCK_FUZZ sets how many are made, 1,000 or more.
 */
import { Agent, request } from "node:http";
import { connect } from "node:net";
import { setFlagsFromString } from "node:v8";
import { runInNewContext } from "node:vm";
import fc from "fast-check";
import { afterAll, beforeAll, expect, it } from "vitest";
import { carsSchema, placeViewSchema, problemSchema } from "../../predictor/serve/api.ts";
import { air, ask, openShop, type ServedShop } from "../served-shop.ts";
import { type DescribedPaths, type StrangeRequest, strangeBytes, strangeRequest } from "./request-makers.ts";

const requestsInAll = Number(process.env.COATCLOCK_FUZZ ?? 2_000);
const perBatch = 500;
/** Of a batch, so many are bytes on a bare connection. */
const bareInBatch = 100;
const atOnce = 20;
/** The heap is looked at after so many batches, when all code has been compiled, and at the end. */
const warmBatches = 20;
const grownAtMostMB = 16;
const seed = 20_261_129;

setFlagsFromString("--expose-gc");
const collectGarbage: () => void = runInNewContext("gc");
function heapUsedMB(): number {
  collectGarbage();
  return process.memoryUsage().heapUsed / 1e6;
}

let shop: ServedShop;
beforeAll(async () => {
  shop = await openShop();
});
afterAll(async () => {
  await shop.close();
});

const agent = new Agent({ keepAlive: true, maxSockets: atOnce });

interface Answer {
  status: number;
  type: string;
  text: string;
}

/** Rejects where the connection ends without an answer. An event stream is left after its first words. */
function send({ method, path, headers, body }: StrangeRequest): Promise<Answer> {
  return new Promise((resolve, reject) => {
    // Without its length the body of a GET or DELETE would be read as the next request.
    const withLength = { ...headers, "content-length": String(body.length) };
    const asking = request(shop.base, { agent, method, path, headers: withLength }, (response) => {
      const type = response.headers["content-type"] ?? "";
      let text = "";
      const answered = () => resolve({ status: response.statusCode ?? 0, type, text });
      response.on("data", (chunk: Buffer) => {
        text += chunk.toString("utf8", 0, 10_000);
        if (!type.startsWith("text/event-stream")) return;
        answered();
        asking.destroy();
      });
      response.on("end", answered);
      response.on("error", reject);
    });
    asking.on("error", reject);
    asking.end(body);
  });
}

/** The status that a bare connection is answered with before it ends; null without one. */
function sendBare(bytes: Buffer): Promise<number | null> {
  return new Promise((resolve) => {
    let text = "";
    const socket = connect(Number(new URL(shop.base).port), "127.0.0.1", () => socket.end(bytes));
    const statusIn = () => /^HTTP\/1\.1 (\d{3}) /.exec(text)?.[1];
    socket.on("data", (chunk) => {
      text += chunk.toString("latin1", 0, 100);
    });
    socket.on("error", () => undefined);
    socket.on("close", () => resolve(statusIn() === undefined ? null : Number(statusIn())));
  });
}

async function inTurns<T>(all: readonly T[], each: (one: T) => Promise<void>): Promise<void> {
  const waiting = [...all];
  const work = async () => {
    for (let one = waiting.shift(); one !== undefined; one = waiting.shift()) await each(one);
  };
  await Promise.all(Array.from({ length: atOnce }, work));
}

function shown({ method, path, headers, body }: StrangeRequest): string {
  return `${method} ${path.slice(0, 200)} ${JSON.stringify(headers).slice(0, 400)} ${body.toString("utf8", 0, 300)}`;
}

function expectRefusal(asked: StrangeRequest, { status, type, text }: Answer): void {
  expect(status, shown(asked)).toBeLessThan(500);
  if (text === "") {
    // Node itself answers what is not HTTP enough for a problem of ours.
    expect(asked.method === "HEAD" || [400, 431].includes(status), shown(asked)).toBe(true);
  } else if (status === 404 && type.startsWith("text/html")) {
    // The wall of a place that is not there says so itself.
    expect(asked.path, shown(asked)).toMatch(/^\/wall\//);
  } else {
    expect(type, shown(asked)).toMatch(/^application\/problem\+json/);
    expect(problemSchema.parse(JSON.parse(text)).status, shown(asked)).toBe(status);
  }
}

it(`${requestsInAll} requests that are none: each is answered, none fails, the pages between are served as ever`, {
  timeout: 120_000 + requestsInAll * 20,
}, async () => {
  const { body } = await ask(shop, "/api/openapi.json");
  const strange = strangeRequest((body as { paths: DescribedPaths }).paths, Object.values(shop.cookies));
  const inherited = Reflect.ownKeys(Object.prototype);
  const car = { job: "J-1", name: "Neighbour's van", place: "booth", panels: [{ name: "bonnet" }] };
  expect((await ask(shop, "/api/cars", car)).status).toBe(201);
  const counts = { refused: 0, answered: 0, bareRefused: 0, bareEnded: 0 };
  let heapBeforeMB: number | null = null;

  for (let made = 0; made < requestsInAll; made += perBatch) {
    await inTurns(fc.sample(strange, { numRuns: perBatch - bareInBatch, seed: seed + made }), async (each) => {
      const answer = await send(each);
      if (answer.status < 400) counts.answered += 1;
      else {
        counts.refused += 1;
        expectRefusal(each, answer);
      }
    });
    await inTurns(fc.sample(strangeBytes, { numRuns: bareInBatch, seed: seed + made }), async (bytes) => {
      const status = await sendBare(bytes);
      if (status === null) counts.bareEnded += 1;
      else if (status >= 400) counts.bareRefused += 1;
      expect(status ?? 0, bytes.toString("latin1", 0, 300)).toBeLessThan(500);
    });

    const celsius = 15 + ((made / perBatch) % 100) / 10;
    shop.send(air(celsius, 50));
    await expect
      .poll(async () => placeViewSchema.parse((await ask(shop, "/api/places/booth/wall")).body).climate.airC?.value)
      .toBe(celsius);
    if (made === (warmBatches - 1) * perBatch) heapBeforeMB = heapUsedMB();
  }

  const { cars } = carsSchema.parse((await ask(shop, "/api/cars")).body);
  expect(cars.filter(({ name }) => name === car.name)).toMatchObject([{ job: "J-1", coats: [] }]);
  expect(Reflect.ownKeys(Object.prototype)).toEqual(inherited);
  // All kinds happen often enough for the rest to mean something.
  expect(counts.refused).toBeGreaterThan(0.3 * requestsInAll);
  expect(counts.answered).toBeGreaterThan(0.01 * requestsInAll);
  expect(counts.bareRefused).toBeGreaterThan(0.05 * requestsInAll);
  if (heapBeforeMB === null) return;
  const grownMB = heapUsedMB() - heapBeforeMB;
  console.log(`${requestsInAll} requests: ${JSON.stringify(counts)}; the heap grew by ${grownMB.toFixed(1)} MB`);
  expect(grownMB).toBeLessThan(grownAtMostMB);
});
