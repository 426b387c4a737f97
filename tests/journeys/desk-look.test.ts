/** How the log and a coat's file look: to axe, in both languages, at the desk and on a phone. */
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

describe.each(languages)("in %s", (language) => {
  it.each([
    ["log", "/log"],
    ["file", "/log/coat-1"],
    ["compare", "/log/compare?coats=coat-1,coat-2"],
  ])("%s is clean to axe at the desk and on a phone, and no wider than either", async (name, path) => {
    await desks.at(
      path,
      async ({ page }) => {
        await page.locator(".log-table, .chart-plot canvas").first().waitFor();
        expect(await page.evaluate("document.documentElement.lang")).toBe(language);
        for (const [size, where] of [
          [wallSize, "desk"],
          [phoneSize, "phone"],
        ] as const) {
          await page.setViewportSize(size);
          expect(await axeFindings(page), where).toEqual([]);
          await expect
            .poll(() => page.evaluate("document.documentElement.scrollWidth <= innerWidth"), { message: where })
            .toBe(true);
          await picture(page, `${name}-${where}-${language}`);
        }
      },
      { language, count: 4 },
    );
  });
});
