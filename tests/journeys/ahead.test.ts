/** The hours ahead, what if, what checks teach and when to start: asked as a painter would, of the running program. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { coatViewSchema, placeViewSchema } from "../../predictor/serve/api.ts";
import { axeFindings, openBrowser, openPage, phoneSize, picture, wallSize } from "./browser.ts";
import { type Program, startProgram } from "./program.ts";

/** Work ends at midnight, so that there is something to be ready for at whatever hour this runs; all of it invented. */
const shopFile = `{ shop: ahead, name: Invented shop, invented: true, timeZone: Etc/UTC, trustClock: true, broker: { kind: embedded, port: 0 },
  workday: { days: [mon, tue, wed, thu, fri, sat, sun], from: "00:00", to: "24:00" },
  energy: { currency: EUR, burnerEfficiency: 0.9,
    heat: { pricePerKWh: 0.1, co2KgPerKWh: 0.18, source: invented, year: 2026 },
    electricity: { pricePerKWh: 0.3, co2KgPerKWh: 0.35, source: invented, year: 2026 },
    airHandling: { booth: { bakeM3PerHour: 10000, recirculatedPercent: 90, flashOffM3PerHour: 4000, fansKW: 8 } } },
  places: {
    booth: { name: Booth, kind: booth, sheets: [demo-clear], sensors: { air-temperature: rehearsal/booth, air-humidity: rehearsal/booth, panel-temperature: rehearsal/booth } },
    workshop: { name: Workshop, kind: workshop, sensors: { air-temperature: rehearsal/workshop, air-humidity: rehearsal/workshop } },
    yard: { name: Yard, kind: yard, sensors: { air-temperature: rehearsal/yard, air-humidity: rehearsal/yard } },
    mixing: { name: Mixing room, kind: mixing, sensors: { air-temperature: rehearsal/mixing } } },
  collectors: { rehearsal: { sources: [
    { kind: rehearsal, room: booth, sensor: booth, pastHours: 2 }, { kind: rehearsal, room: workshop, sensor: workshop, pastHours: 2 },
    { kind: rehearsal, room: yard, sensor: yard, pastHours: 2 }, { kind: rehearsal, room: mixing, sensor: mixing, pastHours: 2 } ] } } }`;

const ago = (minutes: number) => new Date(Date.now() - minutes * 60_000).toISOString();

let program: Program;
let browser: Browser;
let coat: string;
const wall = async () => placeViewSchema.parse(await program.get("/api/places/booth/wall"));
const coatNow = async () => coatViewSchema.parse(await program.get(`/api/coats/${coat}`));

beforeAll(async () => {
  program = await startProgram(shopFile);
  browser = await openBrowser();
}, 60_000);
afterAll(async () => {
  await browser.close();
  expect(await program.stop()).toBe(0);
});

describe("what lies ahead", () => {
  it("is told of a coat as soon as it is entered", async () => {
    await expect.poll(async () => (await wall()).climate.panelC?.value ?? 0, { timeout: 30_000 }).toBeGreaterThan(10);
    const panels = [{ name: "bonnet" }];
    const car = await program.send("POST", "/api/cars", {
      job: "J-1",
      name: "Grey van",
      place: "booth",
      panels,
      at: ago(40),
    });
    const { coats } = (await program.send("POST", `/api/cars/${(car as { id: string }).id}/coats`, {
      panels: ["bonnet"],
      sheet: "demo-clear",
      finishedAt: ago(20),
    })) as { coats: { id: string }[] };
    coat = coats[0]?.id ?? "";
    await expect.poll(async () => (await coatNow()).prediction?.stages.length, { timeout: 20_000 }).toBe(5);
    await expect.poll(async () => (await wall()).hoursAhead?.at.length ?? 0, { timeout: 20_000 }).toBeGreaterThan(90);
  });

  it("a check moves the times, and its page says what the shop's checks teach", async () => {
    const demask = async () => (await coatNow()).prediction?.stages.find(({ stage }) => stage === "demask");
    const before = Date.parse((await demask())?.likelyAt ?? "");
    const check = { stage: "dust-free", ready: false, how: "thumb", at: ago(8) };
    await program.send("POST", `/api/coats/${coat}/checks`, check);
    expect(Date.parse((await demask())?.likelyAt ?? "")).toBeGreaterThan(before);
    const { page, context, faults } = await openPage(browser, `${program.address}/coats/${coat}`, phoneSize);
    await page.getByText(/slower than the sheet, from 1 check/i).waitFor();
    expect(faults).toEqual([]);
    await context.close();
  });

  it("what if, on a phone: a bake is sooner than waiting, with its energy beside today's way, and nothing is recorded", async () => {
    const carId = (await coatNow()).carId;
    const { page, context, faults } = await openPage(browser, `${program.address}/cars/${carId}`, phoneSize);
    await page.getByRole("button", { name: /What if/ }).click();
    await page.getByRole("button", { name: /^Bake/ }).click();
    await page.getByText(/as of \d\d:\d\d/).waitFor();
    expect(await page.getByText(/sooner/).count()).toBeGreaterThan(0);
    const energy = page.getByRole("table");
    await energy.getByText(/EUR/).waitFor();
    expect(await page.getByText(/isocyanate/).count()).toBeGreaterThan(0);
    expect(await axeFindings(page)).toEqual([]);
    await picture(page, "what-if-phone");
    await page.getByRole("button", { name: "Move to Yard" }).click();
    await page.getByText(/Move to Yard: as of/).waitFor();
    await page.getByText(/later/).first().waitFor();
    const width = await page.evaluate("document.documentElement.scrollWidth");
    expect(width).toBeLessThanOrEqual(phoneSize.width);
    expect(faults).toEqual([]);
    await context.close();
    expect((await coatNow()).place?.id).toBe("booth");
  });

  it("the wall says by when to finish the next coat and how long the mixed pot lasts", async () => {
    await program.send("POST", "/api/mixes", { sheet: "demo-clear", at: ago(5) });
    await expect.poll(async () => (await wall()).startBy.length, { timeout: 60_000 }).toBe(2);
    const { page, context, faults } = await openPage(browser, `${program.address}/wall/booth`, wallSize);
    const ahead = page.getByRole("region", { name: "Work ahead" });
    await ahead.getByText(/To unmask by/).waitFor();
    await ahead.getByText(/Clearcoat mixed \d\d:\d\d/).waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await picture(page, "wall-ahead");
    expect(faults).toEqual([]);
    await context.close();
  });
});
