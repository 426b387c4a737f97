/** What an installer does first: publish a reading by hand, and look whether it arrives. */
import { spawnSync } from "node:child_process";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { placeViewSchema } from "../../predictor/serve/api.ts";
import { healthSchema } from "../../predictor/serve/health.ts";
import { type Program, startProgram } from "./program.ts";

const shopFile = `{ shop: by-hand, name: Invented shop, invented: true, timeZone: Etc/UTC, trustClock: true, broker: { kind: embedded, port: 0 },
  places: { booth: { name: Booth, kind: booth, sheets: [demo-clear], sensors: { air-temperature: hand/probe, air-humidity: hand/probe } } },
  collectors: { hand: { elsewhere: true, sensors: [probe] } } }`;

let program: Program;
beforeAll(async () => {
  program = await startProgram(shopFile);
}, 60_000);
afterAll(async () => {
  expect(await program.stop()).toBe(0);
});

function publish(payload: string): void {
  const port = new URL(program.broker).port;
  const { status, stderr } = spawnSync(
    "mosquitto_pub",
    ["-p", port, "-q", "1", "-t", "coatclock/1/by-hand/readings/hand", "-m", payload],
    { encoding: "utf8" },
  );
  if (status !== 0) throw new Error(`mosquitto_pub: ${stderr || "install the Debian package mosquitto-clients"}`);
}
const intake = async () => healthSchema.parse(await program.get("/api/health")).intake;
const wall = async () => placeViewSchema.parse(await program.get("/api/places/booth/wall"));

const pack = JSON.stringify([
  { bn: "hand/probe/", bt: Date.now() / 1000, n: "air-humidity", u: "%RH", v: 47 },
  { n: "air-temperature", u: "Cel", v: 19.5 },
]);

describe("a pack published by hand with mosquitto_pub", () => {
  it("stands on the wall, and how soon is printed", async () => {
    publish(pack);
    const sentMs = Date.now();
    await expect.poll(async () => (await wall()).climate.airC?.value, { interval: 20, timeout: 15_000 }).toBe(19.5);
    console.log(`published by hand → on the wall: ${Date.now() - sentMs} ms`);
    expect((await wall()).verdict).toMatchObject({ state: "spray" });
  });

  it("changes nothing when it comes again", async () => {
    const before = await wall();
    publish(pack);
    await expect.poll(async () => (await intake()).packsStored).toBe(2);
    expect(await intake()).toMatchObject({ readingsStored: 2, readingsKnown: 2 });
    expect((await wall()).climate).toEqual(before.climate);
  });

  it("is refused when it is broken, with its reason in /api/health, and the next good one is taken", async () => {
    publish('[{"bn":"hand/probe/","n":"air-temperature","u":"Far","v":67}]');
    await expect.poll(async () => (await intake()).packsRefused).toBe(1);
    expect((await intake()).refused[0]).toMatchObject({
      collector: "hand",
      reason: "unit of hand/probe/air-temperature: expected Cel, found Far",
    });
    publish('[{"bn":"hand/probe/","n":"air-temperature","u":"Cel","v":20.5}]');
    await expect.poll(async () => (await wall()).climate.airC?.value).toBe(20.5);
  });
});
