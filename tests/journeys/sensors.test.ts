/** The quality lead looks at the sensors: which one is wrong, how one was corrected, whether neighbours agree, and how much of each day is known. */
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import type { StoredReading } from "../../predictor/readings/store.ts";
import { coverageSchema, sensorsSchema } from "../../predictor/serve/sensor-api.ts";
import { axeFindings, openBrowser, openPage, phoneSize, picture, wallSize } from "./browser.ts";
import { type Program, startProgram } from "./program.ts";

const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;
let program: Program;
let browser: Browser;

/** Invented: a booth for eight days, each two minutes, whose first humidity sensor drifts off; nothing for the whole of one day in between. */
function boothReadings(nowMs: number): StoredReading[] {
  const readings: StoredReading[] = [];
  for (let atMs = nowMs - 8 * dayMs; atMs <= nowMs; atMs += 2 * minuteMs) {
    const daysAgo = (nowMs - atMs) / dayMs;
    if (daysAgo > 3 && daysAgo < 4) continue;
    const wave = Math.sin((atMs / dayMs) * 2 * Math.PI);
    const humidity = 50 - 6 * wave;
    const drift = 1.3 * (8 - daysAgo) + 0.3 * Math.sin(atMs / 4e6);
    const common = { collector: "pi", atMs };
    readings.push(
      { ...common, sensor: "plenum", quantity: "air-temperature", value: 20 + 2 * wave },
      { ...common, sensor: "plenum", quantity: "air-humidity", value: humidity + drift },
      { ...common, sensor: "second", quantity: "air-humidity", value: humidity },
      { ...common, sensor: "panel", quantity: "panel-temperature", value: 19 + wave },
    );
  }
  return readings;
}

/** Invented: a yard that fell silent an hour ago, after a reading each second. */
const yardReadings = (nowMs: number): StoredReading[] =>
  Array.from({ length: 60 }, (_, n) => {
    const atMs = nowMs - 60 * minuteMs + n * 1_000;
    return { collector: "pi", sensor: "mast", quantity: "air-temperature", atMs, value: 7 + n / 100 };
  });

const shop = `
shop: sensors
name: Invented shop
invented: true
timeZone: Europe/Berlin
broker: { kind: embedded, port: 0 }
ports: { http: 0 }
trustClock: true
places:
  booth:
    name: Booth
    kind: booth
    sensors: { air-temperature: pi/plenum, air-humidity: pi/plenum, panel-temperature: pi/panel }
    compare: { air-humidity: pi/second }
  yard: { name: Yard, kind: yard, sensors: { air-temperature: pi/mast } }
  workshop: { name: Workshop, kind: workshop, sensors: { air-temperature: played/bench, air-humidity: played/bench } }
collectors:
  pi:
    elsewhere: true
    sources: [{ kind: serial, path: /dev/serial/by-id/invented, sensors: [plenum, second, panel, mast] }]
    instruments:
      plenum:
        air-temperature: { offset: 0.3, calibrated: 2024-05-04, due: 2025-05-04, reference: "REF-7, certificate C-81 (invented)" }
        air-humidity: { slope: 1.02, offset: -1.5, calibrated: 2026-03-02, due: 2999-03-02 }
  played: { sources: [{ kind: rehearsal, room: workshop, sensor: bench, pastHours: 30 }] }
`;

beforeAll(async () => {
  const fill = async (dataFolder: string) => {
    const store = openSqliteStore(join(dataFolder, "readings.db"));
    const nowMs = Date.now();
    await store.append([...boothReadings(nowMs), ...yardReadings(nowMs)]);
    await store.close();
  };
  [program, browser] = await Promise.all([startProgram(shop, fill), openBrowser()]);
}, 60_000);
afterAll(async () => {
  await browser.close();
  expect(await program.stop()).toBe(0);
});

const healths = async () =>
  sensorsSchema.parse(await program.get("/api/sensors")).sensors.map(({ sensor, health }) => `${sensor} ${health}`);

/** Nothing may stand beside the screen. */
async function widthOver(page: Page): Promise<number> {
  return await page.evaluate("document.documentElement.scrollWidth - innerWidth");
}

it("shows the worst sensor first, corrections, neighbours and the minutes of each day", async () => {
  await expect
    .poll(healths, { timeout: 20_000 })
    .toEqual([
      "pi/mast silent",
      "pi/plenum drifts",
      "pi/second drifts",
      "pi/plenum sound",
      "pi/panel sound",
      "played/bench sound",
      "played/bench sound",
    ]);
  const { page, context, faults } = await openPage(browser, `${program.address}/sensors`, wallSize);
  const rows = page.locator(".sensors tbody tr");
  await rows.first().waitFor();
  expect(await rows.first().textContent()).toContain("Silent");
  expect(await rows.nth(1).textContent()).toContain("solvent vapour");
  const overdue = rows.nth(3);
  expect(await overdue.textContent()).toContain("overdue since 4 May 2025");
  expect(await overdue.locator(".sensor-history").isVisible()).toBe(false);
  await overdue.locator("summary").focus();
  await page.keyboard.press("Enter");
  expect(await overdue.locator(".sensor-history").textContent()).toContain("REF-7, certificate C-81");
  expect(await rows.nth(1).textContent()).toContain("1.020 × read −");

  const difference = page.locator(".difference");
  await difference.locator(".difference-line").waitFor();
  expect(await difference.textContent()).toMatch(/Beyond ±6 % since/);
  expect(await difference.getByRole("img").getAttribute("aria-label")).toMatch(
    /pi\/plenum minus pi\/second was between \+.* % and \+.* %/,
  );

  const grid = page.getByRole("grid");
  await grid.waitFor();
  const { days, lines } = coverageSchema.parse(await program.get("/api/sensors/coverage"));
  const dry = lines.findIndex(({ place }) => place.id === "yard");
  const minutes = lines[dry]?.minutes.reduce<number>((sum, each) => sum + (each ?? 0), 0) ?? 0;
  expect(minutes).toBeGreaterThanOrEqual(5);
  expect(minutes).toBeLessThanOrEqual(10);
  // One tab stop; from there the arrow keys go about, and what one stands on is told in words.
  expect(await grid.locator("[tabindex='0']").count()).toBe(1);
  await grid.locator("[tabindex='0']").focus();
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("ArrowDown");
  const before = lines[1]?.minutes.at(-2);
  const told = `Booth, air humidity, `;
  expect(await page.locator(".coverage-told").textContent()).toContain(told);
  expect(await page.locator(".coverage-told").textContent()).toContain(
    `: ${before} of ${days.at(-2)?.minutes} minutes`,
  );
  expect(await page.evaluate("document.activeElement.getAttribute('aria-label')")).toContain(told);

  await grid.locator("[data-cell='3 29']").hover();
  expect(await page.locator(".coverage-told").textContent()).toBe(
    await grid.locator("[data-cell='3 29']").getAttribute("aria-label"),
  );

  expect(await axeFindings(page)).toEqual([]);
  expect(await widthOver(page)).toBeLessThanOrEqual(0);
  await picture(page, "sensors");

  await page.setViewportSize(phoneSize);
  expect(await axeFindings(page)).toEqual([]);
  expect(await widthOver(page)).toBeLessThanOrEqual(0);

  // Without an answer there is no old one left standing.
  await page.route("**/api/sensors/coverage**", (route) => route.abort());
  await page.getByRole("button", { name: "90 days" }).click();
  await page.getByRole("alert").getByText("The minutes can't be shown").waitFor();
  expect(await page.getByRole("grid").count()).toBe(0);
  expect(faults.filter((fault) => !fault.includes("net::ERR_FAILED"))).toEqual([]);
  await context.close();
}, 120_000);

it("says the same in German", async () => {
  const context = await browser.newContext({ viewport: wallSize });
  await context.addInitScript("localStorage.setItem('coatclock.language', 'de')");
  const page = await context.newPage();
  await page.goto(`${program.address}/sensors`);
  const rows = page.locator(".sensors tbody tr");
  await rows.first().waitFor();
  expect(await rows.first().textContent()).toContain("Schweigt");
  expect(await rows.nth(1).textContent()).toContain("Lösemitteldampf");
  expect(await rows.nth(3).textContent()).toContain("überfällig seit 4. Mai 2025");
  await page.getByRole("grid").waitFor();
  expect(await axeFindings(page)).toEqual([]);
  expect(await widthOver(page)).toBeLessThanOrEqual(0);
  await context.close();
}, 120_000);
