/** What a new painter sees first: npm start, nothing else, and the booth's wall within two minutes. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { placeViewSchema } from "../../predictor/serve/api.ts";
import { axeFindings, openBrowser, openPage, picture, wallSize } from "./browser.ts";
import { type Program, startProgram } from "./program.ts";

let program: Program;
let browser: Browser;
beforeAll(async () => {
  program = await startProgram();
  browser = await openBrowser();
}, 60_000);
afterAll(async () => {
  await browser.close();
  expect(await program.stop()).toBe(0);
});

it("the rehearsal booth shows live readings, three coats in different states, and a warning that comes and goes", async () => {
  const startedMs = Date.now();
  const view = async () => placeViewSchema.parse(await program.get("/api/places/booth/wall"));
  const { page, context, faults } = await openPage(browser, `${program.address}/wall/booth`, wallSize);
  await page.getByText("Invented shop, invented materials").waitFor();

  await expect
    .poll(async () => (await view()).coats.filter((coat) => coat.prediction !== null).length, { timeout: 30_000 })
    .toBeGreaterThanOrEqual(3);
  const { coats } = await view();
  const states = coats.map(
    ({ prediction }) => `${prediction?.readyFor}/${prediction?.checkFirst}/${prediction?.next?.stage}`,
  );
  expect(new Set(states).size).toBeGreaterThanOrEqual(3);
  for (const { prediction } of coats) {
    expect(prediction?.curePercent).toBeGreaterThan(0);
    expect(prediction?.next?.likelyAt).not.toBeNull();
  }
  const first = (await view()).climate.airC?.at;
  await expect.poll(async () => (await view()).climate.airC?.at, { timeout: 15_000 }).not.toBe(first);

  await expect.poll(async () => (await view()).warnings.length, { timeout: 100_000, interval: 500 }).toBeGreaterThan(0);
  const warning = (await view()).warnings[0];
  await page
    .getByText(warning?.text ?? "", { exact: false })
    .first()
    .waitFor();
  expect(await axeFindings(page)).toEqual([]);
  await picture(page, "wall");
  await expect
    .poll(async () => (await view()).warnings.some((each) => each.id === warning?.id), {
      timeout: 120_000,
      interval: 500,
    })
    .toBe(false);
  console.log(`a warning came and went within ${Math.round((Date.now() - startedMs) / 1000)} s`);
  expect(faults).toEqual([]);
  await context.close();
}, 240_000);
