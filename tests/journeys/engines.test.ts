/** The same journey of readings, from a collector to a coat and the wall, on both pairs of engines, with a restart between. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { z } from "zod";
import { carViewSchema, coatViewSchema } from "../../predictor/serve/api.ts";
import { healthSchema } from "../../predictor/serve/health.ts";
import { openBrowser, openPage, wallSize } from "./browser.ts";
import { areOthersAsked, type OtherEngines, startOtherEngines } from "./engines.ts";
import { type Air, airOf, minuteMs, shopFileOf } from "./phone-hands.ts";
import { type Program, startProgram } from "./program.ts";

let browser: Browser;
beforeAll(async () => {
  browser = await openBrowser();
});
afterAll(() => browser.close());

// With COATCLOCK_ENGINES the other journeys run on these.
describe.skipIf(areOthersAsked).each([
  ["SQLite and the embedded broker", "sqlite"],
  ["InfluxDB and mosquitto", "influx"],
] as const)("readings by way of %s", (_engines, kind) => {
  let engines: OtherEngines | null;
  let program: Program;
  let air: Air;
  beforeAll(async () => {
    engines = kind === "influx" ? await startOtherEngines() : null;
    const shopFile = shopFileOf("engines");
    program = await startProgram(engines?.shopFileOn(shopFile) ?? shopFile);
    air = await airOf(program.broker, "engines");
  }, 120_000);
  afterAll(async () => {
    await air.end();
    await program.stop();
    await engines?.end();
  });

  const health = async () => healthSchema.parse(await program.get("/api/health"));
  const readings = async () => {
    const from = new Date(Date.now() - 100 * minuteMs).toISOString();
    const to = new Date(Date.now() + minuteMs).toISOString();
    const answer = await program.get(`/api/places/booth/readings?from=${from}&to=${to}&quantity=air-temperature`);
    return z.object({ readings: z.array(z.object({ at: z.string(), value: z.number() })) }).parse(answer).readings;
  };

  it("reach a coat, the API and the wall, and are there after a restart", async () => {
    await air.past(90, 21.5);
    await expect.poll(async () => (await health()).intake.readingsStored).toBe(91 * 9);
    expect((await health()).store.kind).toBe(kind);
    const before = await readings();
    expect(before.map(({ value }) => value)).toEqual(new Array(91).fill(21.5));

    const at = (minutes: number) => new Date(Date.now() - minutes * minuteMs).toISOString();
    const panels = [{ name: "bonnet" }];
    const job = { job: "E-1", name: "Grey van", place: "booth", at: at(85), panels };
    const car = carViewSchema.parse(await program.send("POST", "/api/cars", job));
    const coat = { panels: ["bonnet"], sheet: "demo-clear", finishedAt: at(80) };
    const entered = z
      .object({ coats: z.array(coatViewSchema) })
      .parse(await program.send("POST", `/api/cars/${car.id}/coats`, coat));
    expect(entered.coats[0]?.sprayCheck?.limits.length).toBeGreaterThan(0);
    const stages = async () =>
      coatViewSchema.parse(await program.get(`/api/coats/${entered.coats[0]?.id}`)).prediction?.stages ?? [];
    // Dust free by now, so that it is told by readings alone.
    await expect.poll(async () => (await stages())[0]?.likelyAt ?? "").not.toBe("");
    const [dustFree] = await stages();

    await program.restart();
    expect(await readings()).toEqual(before);
    await expect.poll(async () => (await stages())[0]?.likelyAt).toBe(dustFree?.likelyAt);
    const { page, faults } = await openPage(browser, `${program.address}/wall/booth`, wallSize);
    await page.getByText("21.5", { exact: true }).first().waitFor();
    await page.getByText("Grey van").first().waitFor();
    expect(faults).toEqual([]);
    await page.close();
    if (engines === null) {
      // The embedded broker has another port now.
      await air.end();
      air = await airOf(program.broker, "engines");
    }
    await air.now(22.5, 50);
    await expect.poll(async () => (await readings()).at(-1)?.value).toBe(22.5);
  }, 60_000);

  it.runIf(kind === "influx")(
    "go on while InfluxDB is away: what needs its readings says so, and nothing is lost",
    async () => {
      await engines?.influx.kill();
      await air.now(23.5, 50);
      await expect.poll(async () => (await health()).store.waiting?.awaySince ?? null).not.toBeNull();
      expect((await health()).state).toBe("attention");
      await expect(readings()).rejects.toThrow(/^503 .*can't be reached/);
      await engines?.influx.start();
      await expect.poll(async () => (await readings().catch(() => [])).at(-1)?.value).toBe(23.5);
      expect((await health()).store.waiting).toEqual({ readings: 0, awaySince: null, fault: null });
    },
  );
});
