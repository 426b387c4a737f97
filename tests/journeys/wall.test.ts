/** The wall in a real browser: a reading arrives, a coat becomes ready, the link is lost. */
import mqtt from "mqtt";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { z } from "zod";
import { packOf, type Reading } from "../../collector/readings.ts";
import { carViewSchema, coatViewSchema } from "../../predictor/serve/api.ts";
import { axeFindings, openBrowser, openPage, phoneSize, picture, wallSize } from "./browser.ts";
import { type Program, startProgram } from "./program.ts";

const shopFile = `{ shop: walls, name: Invented shop, invented: true, timeZone: Etc/UTC, trustClock: true, broker: { kind: embedded, port: 0 },
  places: { booth: { name: Booth 1, kind: booth, sheets: [demo-clear],
    sensors: { air-temperature: hand/probe, air-humidity: hand/probe, panel-temperature: hand/probe } } },
  collectors: { hand: { elsewhere: true, sensors: [probe] } } }`;

let program: Program;
let browser: Browser;
let client: mqtt.MqttClient;
beforeAll(async () => {
  program = await startProgram(shopFile);
  browser = await openBrowser();
  client = await mqtt.connectAsync(program.broker, { protocolVersion: 4 });
}, 60_000);
afterAll(async () => {
  await browser.close();
  await client.endAsync(true);
  await program.stop();
});

const climateAt = (atMs: number, airC: number): Reading[] => [
  { sensor: "probe", quantity: "air-humidity", atMs, value: 50 },
  { sensor: "probe", quantity: "panel-temperature", atMs, value: airC },
  { sensor: "probe", quantity: "air-temperature", atMs, value: airC },
];
async function send(readings: Reading[]): Promise<void> {
  await client.publishAsync("coatclock/1/walls/readings/hand", JSON.stringify(packOf("hand", readings)), { qos: 1 });
}

/** A coat that will be safely dust free in `seconds`, in air that was 20 °C for the last hour. */
async function coatDustFreeIn(seconds: number): Promise<string> {
  const nowMs = Date.now();
  await send(Array.from({ length: 120 }, (_, n) => climateAt(nowMs - (119 - n) * 30_000, 20)).flat());
  const car = carViewSchema.parse(
    await program.send("POST", "/api/cars", {
      job: "J-42",
      name: "Grey van",
      place: "booth",
      at: new Date(nowMs - 3_600_000).toISOString(),
      panels: [{ name: "sliding door" }],
    }),
  );
  const finishedMs = nowMs - 300_000;
  const { coats } = z.object({ coats: z.array(coatViewSchema) }).parse(
    await program.send("POST", `/api/cars/${car.id}/coats`, {
      panels: ["sliding door"],
      sheet: "demo-clear",
      finishedAt: new Date(finishedMs).toISOString(),
    }),
  );
  const id = coats[0]?.id ?? "";
  await expect.poll(async () => coatViewSchema.parse(await program.get(`/api/coats/${id}`)).prediction).not.toBeNull();
  // The same air all along: the finish moves by as much as the safe time shall, and the less lies ahead, the surer it is.
  for (let round = 0, finishMs = finishedMs; round < 4; round++) {
    const { prediction } = coatViewSchema.parse(await program.get(`/api/coats/${id}`));
    const safeMs = Date.parse(prediction?.stages[0]?.safeAt ?? "");
    finishMs -= safeMs - (Date.now() + seconds * 1000);
    const finishedAt = new Date(finishMs).toISOString();
    await program.send("PATCH", `/api/coats/${id}`, { reason: "timed for the journey", finishedAt });
  }
  return id;
}

describe("the wall", () => {
  it("says in words that no sensor has been heard, then shows a reading that arrives", async () => {
    const { page, context, faults } = await openPage(browser, `${program.address}/wall/booth`, wallSize);
    await page.getByText("No verdict").waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await send(climateAt(Date.now(), 19.3));
    const sentMs = Date.now();
    await page.getByText("19.3", { exact: true }).first().waitFor({ timeout: 15_000 });
    console.log(`sent → seen in the browser: ${Date.now() - sentMs} ms`);
    await page.getByRole("status").filter({ hasText: "Spray" }).waitFor();
    expect(faults).toEqual([]);
    await context.close();
  });

  it("shows a coat become ready, without a touch, and its caution with it", async () => {
    await coatDustFreeIn(8);
    const { page, context, faults } = await openPage(browser, `${program.address}/wall/booth`, wallSize);
    await page.getByText("Grey van").first().waitFor();
    expect(await page.getByText("Ready: dust free").count()).toBe(0);
    await page.getByText("Check first: dust free").waitFor();
    await page.getByText("Ready: dust free").waitFor();
    await page
      .getByText(/isocyanate/)
      .first()
      .waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await picture(page, "wall-ready");
    expect(faults).toEqual([]);
    await context.close();
  }, 60_000);

  it("shows the coat and the place among all places", async () => {
    const { page, context, faults } = await openPage(browser, `${program.address}/wall`, wallSize);
    const track = page.getByRole("region", { name: "Booth 1" });
    await track.getByText("Grey van").waitFor();
    await track.getByText("20.0°", { exact: false }).waitFor();
    expect(await axeFindings(page)).toEqual([]);
    expect(faults).toEqual([]);
    await context.close();
  });

  it("can be read on a phone, and so can the list of cars", async () => {
    for (const path of ["/wall/booth", "/"]) {
      const { page, context, faults } = await openPage(browser, program.address + path, phoneSize);
      await page.getByText("Grey van").first().waitFor();
      expect(await page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")).toBe(true);
      expect(await axeFindings(page)).toEqual([]);
      await picture(page, path === "/" ? "cars-phone" : "wall-phone");
      expect(faults).toEqual([]);
      await context.close();
    }
  });

  it("shows the list of cars on a desk", async () => {
    const { page, context } = await openPage(browser, `${program.address}/`, wallSize);
    await page.getByText("Grey van").first().waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await context.close();
  });

  it("says in words that there is no such place", async () => {
    const { page, context } = await openPage(browser, `${program.address}/wall/cellar`, wallSize);
    await page.getByText("Nothing to show").waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await context.close();
  });

  it("covers its corner and takes back the verdict when the predictor is gone", async () => {
    const { page, context } = await openPage(browser, `${program.address}/wall/booth`, wallSize);
    await page.getByText("Grey van").first().waitFor();
    await send(climateAt(Date.now(), 20));
    await page.getByText("Spray", { exact: true }).waitFor();
    expect(await program.stop()).toBe(0);
    await page.getByRole("alert").filter({ hasText: "No link" }).waitFor({ timeout: 15_000 });
    expect(await page.getByText("Spray", { exact: true }).count()).toBe(0);
    expect(await axeFindings(page)).toEqual([]);
    await picture(page, "wall-lost");
    await context.close();
  });
});
