/** How the log and a coat's file look: to axe, in both languages, at the desk and on a phone. */
import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { languages } from "../../words/words.ts";
import { axeFindings, phoneSize, picture, wallSize } from "./browser.ts";
import { type Desks, openDesks } from "./desk-hands.ts";

let desks: Desks;
beforeAll(async () => {
  desks = await openDesks();
}, 60_000);
afterAll(async () => {
  await desks?.close();
});

const expectFits = async (page: Page) =>
  expect(await page.evaluate("document.documentElement.scrollWidth <= innerWidth")).toBe(true);

describe.each(languages)("in %s", (language) => {
  it.each([
    ["log", "/log"],
    ["file", "/log/coat-1"],
    ["compare", "/log/compare?coats=coat-1,coat-2"],
  ])("%s is clean to axe at the desk and on a phone, and no wider than either", async (name, path) => {
    for (const size of [wallSize, phoneSize]) {
      await desks.at(
        path,
        async ({ page }) => {
          await page.locator(".log-table, .chart-plot canvas").first().waitFor();
          expect(await axeFindings(page)).toEqual([]);
          expect(await page.evaluate("document.documentElement.lang")).toBe(language);
          await expectFits(page);
          await picture(page, `${name}-${size === phoneSize ? "phone-" : ""}${language}`);
        },
        { size, language, count: 8 },
      );
    }
  });
});
