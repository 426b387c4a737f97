/** The walls as they hang: all places at once and one place, in both languages, fed with views of an invented shop. */
import { AxeBuilder } from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { StageView } from "../../predictor/serve/api.ts";
import { exampleStage, minutes } from "../../web/parts/example-coat.ts";
import { type Language, languages, wordsOf } from "../../words/words.ts";
import { axeFindings, openBrowser, openPage, phoneSize, picture, wallSize } from "./browser.ts";
import { coatOf, coatsOf, nowMs, overviewOf, placeWith, warningOf } from "./invented-views.ts";
import { lettersOf, pixelsOf } from "./letters.ts";
import { type Pretend, startPretend } from "./pretend.ts";

let server: Pretend;
let browser: Browser;
beforeAll(async () => {
  server = await startPretend({ place: placeWith({}), overview: overviewOf(6) });
  browser = await openBrowser();
}, 60_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

const wordsIn = (language: Language) =>
  wordsOf({ language, timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });

async function withPage(
  path: string,
  work: (page: Page) => Promise<void>,
  size: typeof wallSize = wallSize,
): Promise<void> {
  const { page, context, faults } = await openPage(browser, server.address + path, size);
  await page.locator(".track, .coats").first().waitFor();
  // The letters are fitted when their font has come.
  await page.evaluate("document.fonts.ready.then(() => new Promise(requestAnimationFrame))");
  await work(page);
  // Streams that a test breaks are no fault of the page.
  expect(faults.filter((fault) => !fault.includes("ERR_INCOMPLETE_CHUNKED_ENCODING"))).toEqual([]);
  await context.close();
}

/** What axe finds against WCAG 2.2 A and AA, and every text below 7:1, or 4.5:1 where it is large (1.4.6, AAA). */
async function findings(page: Page): Promise<string[]> {
  const values = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
  const { violations } = await new AxeBuilder({ page })
    .options({ runOnly: { type: "tag", values }, rules: { "color-contrast-enhanced": { enabled: true } } })
    .analyze();
  return violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(" ")}`));
}

/**
 * 22′ at 5 m is the preferred height of capitals, 16′ the least (ISO 9241-3 as IBM quotes it; NUREG-0700 rev. 2, 1.3.1-4), here on a screen of
 * 43 inches (assumed). What is always short has the preferred height; what people name, and long words, shrink to fit, to the least.
 */
const preferredPx = pixelsOf(22, 5);
const leastPx = pixelsOf(16, 5);
async function expectLetters(page: Page, { preferred, least }: { preferred: string; least: string }): Promise<void> {
  const [large, fitted] = [await lettersOf(page, preferred), await lettersOf(page, least)];
  expect(large.length).toBeGreaterThan(0);
  expect(fitted.length).toBeGreaterThan(0);
  expect(large.filter(({ px }) => px < preferredPx)).toEqual([]);
  expect(fitted.filter(({ px }) => px < leastPx)).toEqual([]);
  expect([...large, ...fitted].filter(({ isCut }) => isCut)).toEqual([]);
}

describe("letters", () => {
  it("are measured in pixels of a 43-inch screen: 32.00 mm are 22′ at 5 m, 23.27 mm are 16′", () => {
    expect([preferredPx, leastPx].map((px) => px * 0.49578)).toEqual([
      expect.closeTo(32.0, 2),
      expect.closeTo(23.27, 2),
    ]);
  });
});

describe.each(languages)("the overview in %s", (language) => {
  const words = wordsIn(language);

  it("speaks the language of its address, and asks for it", async () => {
    server.shows.overview = overviewOf(3);
    server.languages.length = 0;
    await withPage(`/wall?language=${language}`, async (page) => {
      expect(await page.evaluate("document.documentElement.lang")).toBe(language);
      await page.getByText(words.t("verdict.spray"), { exact: true }).waitFor();
      expect(server.languages).toContain(language);
    });
  });

  it.each([1, 3, 6])("of %i places can be read from 5 m, and nothing of it is cut off", async (count) => {
    server.shows.overview = overviewOf(count, language);
    await withPage("/wall", async (page) => {
      expect(await page.locator(".track").count()).toBe(count);
      await expectLetters(page, {
        preferred: ".over-head h1, .over-head time, .track-time b",
        least: ".track h2, .track .verdict p, .track-car",
      });
      expect(await page.evaluate("document.documentElement.scrollHeight <= innerHeight")).toBe(true);
      expect(await findings(page)).toEqual([]);
      await picture(page, `overview-${count}-${language}`);
    });
  });

  it("can be read from 5 m with a 12-hour clock, and with coats of another day", async () => {
    const overview = overviewOf(6, language);
    server.shows.overview = { ...overview, shop: { ...overview.shop, units: { temperature: "F", clock: "12h" } } };
    await withPage("/wall", async (page) => {
      await expectLetters(page, { preferred: ".over-head h1, .over-head time", least: ".track-time b" });
    });
    const asOf = new Date(nowMs - 86_400_000).toISOString();
    server.shows.overview = { ...overview, asOf };
    await withPage("/wall", async (page) => {
      await expectLetters(page, { preferred: ".over-head h1, .over-head time", least: ".track-time b" });
    });
  });

  it("shows the code for a phone where it takes no room, and leaves it out where it would", async () => {
    for (const [count, codes] of [
      [3, 1],
      [6, 0],
    ] as const) {
      server.shows.overview = overviewOf(count, language);
      await withPage("/wall", async (page) => {
        const code = page.locator(".qr svg");
        expect(await code.count()).toBe(codes);
        if (codes === 1) expect(await code.getAttribute("aria-label")).toBe("http://shop.example:8080/");
      });
    }
  });

  it("can be read on a phone", async () => {
    server.shows.overview = overviewOf(8, language);
    await withPage(
      "/wall",
      async (page) => {
        expect(await page.locator(".track").count()).toBe(8);
        expect(await page.evaluate("document.documentElement.scrollWidth <= innerWidth")).toBe(true);
        expect(await axeFindings(page)).toEqual([]);
      },
      phoneSize,
    );
  });

  it("says that it lost the link, and takes back every verdict", async () => {
    server.shows.overview = overviewOf(6, language);
    const own = await startPretend({ ...server.shows });
    const { page, context } = await openPage(browser, `${own.address}/wall`, wallSize);
    await page.getByText(words.t("verdict.spray"), { exact: true }).first().waitFor();
    await own.stop();
    await page
      .getByRole("alert")
      .filter({ hasText: words.t("page.lost") })
      .waitFor({ timeout: 30_000 });
    expect(await page.getByText(words.t("verdict.spray"), { exact: true }).count()).toBe(0);
    expect(await findings(page)).toEqual([]);
    await context.close();
  });
});

describe("the overview", () => {
  it("loads itself anew when the server was built anew, and not over and over where servers take turns", async () => {
    server.shows.overview = overviewOf(2);
    server.version = "1+a";
    await withPage("/wall", async (page) => {
      let loads = 0;
      page.on("load", () => {
        loads += 1;
      });
      const hello = async (version: string) => {
        const opened = server.opened();
        server.version = version;
        server.breakStreams();
        await expect.poll(() => server.opened(), { timeout: 30_000 }).toBeGreaterThan(opened);
      };
      await hello("1+b");
      await expect.poll(() => loads).toBe(1);
      await page.locator(".track").first().waitFor();
      for (const version of ["1+a", "1+b", "1+a"]) await hello(version);
      await page.waitForTimeout(1_000);
      expect(loads).toBe(1);
    });
  });

  it("turns its pages by itself where places are too many, and keeps the one where a hand is wanted now", async () => {
    server.shows.overview = overviewOf(8);
    await withPage("/wall", async (page) => {
      const names = () => page.locator(".track h2").allTextContents();
      const seen = new Set(await names());
      await expect
        .poll(
          async () => {
            const shown = await names();
            expect(shown).toContain("Booth 2");
            for (const name of shown) seen.add(name);
            return seen.size;
          },
          { timeout: 40_000, interval: 500 },
        )
        .toBe(8);
    });
  });
});

describe.each(languages)("the wall of a place in %s", (language) => {
  const stages: StageView["stage"][] = ["dust-free", "overcoat", "sand", "demask", "assemble", "polish"];
  /** A coat ready for each stage in turn with the one after it to come, and one whose next stage is to be checked. */
  const coatsAtStage = (index: number, isClosing: boolean) => {
    const [ready, checked] = [coatOf(isClosing ? 1 : 0), coatOf(isClosing ? 5 : 4)];
    const stage = stages[index] ?? "sand";
    if (ready.prediction === null || checked.prediction === null) throw new Error("the example has a prediction");
    Object.assign(ready.prediction, {
      readyFor: stage,
      next: exampleStage(stages[index + 1] ?? "polish", "not yet", 130, 142),
    });
    Object.assign(checked.prediction, {
      readyFor: null,
      checkFirst: stage,
      next: exampleStage(stage, "check first", 90, 99),
    });
    return [ready, checked];
  };

  it.each([false, true])(
    "has no letter too small for 5 m at any stage of work (window closing: %s)",
    async (isClosing) => {
      for (const index of stages.keys()) {
        server.shows.place = placeWith(
          { coats: coatsAtStage(index, isClosing), warnings: [warningOf("booth", "now")] },
          language,
        );
        await withPage("/wall/booth", async (page) => {
          await expectLetters(page, {
            preferred: ".head h1, .head-clock, .verdict p, .figure b",
            least: ".coat-who h2, .coat-now > b, .coat-next > span, .coat-next b, .gate b, .warning b, .warning span",
          });
        });
      }
    },
  );

  it.each([1, 2, 3, 5, 9])("shows %i coats, those that want a look first, clean by axe and at 7:1", async (count) => {
    server.shows.place = placeWith({ coats: coatsOf(count), warnings: [warningOf("booth", "soon")] }, language);
    await withPage("/wall/booth", async (page) => {
      const shown = page.locator(".coat");
      expect(await shown.count()).toBe(Math.min(count, 2));
      // The second coat's window is closing.
      if (count > 1) await page.locator(".coat .gate-closing").first().waitFor();
      expect((await lettersOf(page, ".rail-beyond span")).filter(({ isCut }) => isCut)).toEqual([]);
      expect(await findings(page)).toEqual([]);
      await picture(page, `wall-${count}-${language}`);
    });
  });

  it("dims by the shop's hours, still at 7:1", async () => {
    const place = placeWith({ coats: coatsOf(1) }, language);
    server.shows.place = { ...place, asOf: new Date(minutes(13 * 60)).toISOString() };
    await withPage("/wall/booth", async (page) => {
      expect(await page.locator(".wall.dim").count()).toBe(1);
      expect(await findings(page)).toEqual([]);
    });
    server.shows.place = place;
    await withPage("/wall/booth", async (page) => expect(await page.locator(".wall.dim").count()).toBe(0));
  });

  it("leaves out what is answered or set aside", async () => {
    const done = (state: "answered" | "set aside") =>
      warningOf("booth", "now", { id: state, state, text: `It was ${state}` });
    server.shows.place = placeWith({ warnings: [done("answered"), done("set aside")] }, language);
    await withPage("/wall/booth", async (page) => expect(await page.getByText("It was").count()).toBe(0));
  });

  it("gives the age of a reading that is too old, and not its value", async () => {
    const place = placeWith({}, language);
    if (place.climate.airC !== null) place.climate.airC.at = new Date(nowMs - 12 * 60_000).toISOString();
    server.shows.place = place;
    await withPage("/wall/booth", async (page) => {
      await page.locator(".figure-old b").filter({ hasText: "12 min" }).first().waitFor();
      expect(await page.getByText(language === "de" ? "20,4" : "20.4", { exact: true }).count()).toBe(0);
      expect((await lettersOf(page, ".figure dt, .figure dd")).filter(({ isCut }) => isCut)).toEqual([]);
    });
  });
});
