/** The quality lead looks how well the predictions held: at a desk and on a phone, in both languages. */
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { parse } from "csv-parse/sync";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Language, languages, wordsOf } from "../../words/words.ts";
import { fillWithChecks, inventedEnergy } from "../checked-shop.ts";
import { openShop, type ServedShop } from "../served-shop.ts";
import { axeFindings, openBrowser, openPage, phoneSize, picture, wallSize } from "./browser.ts";

const pages = resolve(process.env.COATCLOCK_PAGES ?? join(import.meta.dirname, "../../dist/web"));
let shop: ServedShop;
let browser: Browser;
beforeAll(async () => {
  shop = await openShop(inventedEnergy, { builtPages: pages });
  fillWithChecks(shop);
  browser = await openBrowser();
}, 60_000);
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

const wordsIn = (language: Language) =>
  wordsOf({ language, timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } });

async function withPage(address: string, language: Language, work: (page: Page) => Promise<void>): Promise<void> {
  const { page, context, faults } = await openPage(browser, shop.base + address, wallSize);
  if (language !== "en") {
    await page.evaluate(`localStorage.setItem("coatclock.language", "${language}")`);
    await page.reload();
  }
  await page.locator(".prediction-filters").waitFor();
  await work(page);
  expect(faults).toEqual([]);
  await context.close();
}

describe.each(languages)("in %s", (language) => {
  const words = wordsIn(language);
  it("the page tells in words what its charts show, clean by axe at the desk and on a phone", async () => {
    await withPage("/predictions", language, async (page) => {
      await page.getByText(words.t("predictions.calibration"), { exact: true }).waitFor();
      expect(await page.locator(".mark-chart canvas").count()).toBe(5);
      const texts = await page
        .locator('.mark-chart [role="img"]')
        .evaluateAll((charts) => charts.map((chart) => chart.getAttribute("aria-label") ?? ""));
      for (const text of texts) expect(text).toMatch(/\d/);
      const outside = await page.locator(".prediction-outside li").allTextContents();
      expect(outside.some((text) => text.includes(words.t("predictions.above")) && text.startsWith("▲"))).toBe(true);
      for (const [name, size] of Object.entries({ desk: wallSize, phone: phoneSize })) {
        await page.setViewportSize(size);
        await expect.poll(() => page.evaluate("document.documentElement.scrollWidth <= innerWidth")).toBe(true);
        expect(await axeFindings(page)).toEqual([]);
        await picture(page, `predictions-${name}-${language}`);
      }
    });
  });

  it("says what to do where nothing was checked", async () => {
    await withPage("/predictions?place=yard", language, async (page) => {
      await page.getByText(words.t("predictions.empty"), { exact: true }).waitFor();
      await page.getByText(words.t("predictions.no-coats"), { exact: true }).waitFor();
      expect(await axeFindings(page)).toEqual([]);
    });
  });
});

it("filters by keyboard, and gives the same as a table and as a picture", async () => {
  await withPage("/predictions", "en", async (page) => {
    const saved = async (name: string) => {
      const [download] = await Promise.all([
        page.waitForEvent("download"),
        page.locator(".mark-chart").nth(1).getByText(name, { exact: true }).click(),
      ]);
      return { file: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
    };
    const table = await saved("CSV");
    const rows = parse(table.bytes, { columns: true }) as Record<string, string>[];
    expect(rows.length).toBe(40);
    expect(new Set(rows.map(({ kind }) => kind)).size).toBeGreaterThan(1);
    const image = await saved("Picture");
    expect(image.file).toBe("coatclock-told-found-demo-clear.png");
    expect(image.bytes.subarray(1, 4).toString()).toBe("PNG");

    await page.getByLabel("Place").focus();
    await page.keyboard.type("Yard");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Enter");
    await page.getByText("No coat was checked in this span.").waitFor();
    expect(new URL(page.url()).searchParams.get("place")).toBe("yard");
    await page.goBack();
    await page.locator(".mark-chart").first().waitFor();
  });
});
