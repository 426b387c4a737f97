/** The quality lead at the desk, before a pretended log. */
import type { Browser, Page } from "playwright-core";
import { expect } from "vitest";
import { type Language, wordsOf } from "../../words/words.ts";
import { openBrowser, openPage, wallSize } from "./browser.ts";
import { InventedLog } from "./invented-log.ts";
import { overviewOf, placeWith } from "./invented-views.ts";
import { startPretend } from "./pretend.ts";

const coats = 64;
const wordsIn = (language: Language) =>
  wordsOf({ language, timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });

interface Desk {
  page: Page;
  /** What the server keeps. */
  log: InventedLog;
  t: ReturnType<typeof wordsIn>["t"];
}

interface Given {
  size?: typeof wallSize;
  language?: Language;
  role?: InventedLog["role"];
  /** How many coats there are. */
  count?: number;
  /** The server refuses something: the console says so, too. */
  isRefused?: boolean;
}

export interface Desks {
  /** Opens a page with a log as it was at first, so that no journey rests on another, and looks for script errors afterwards. */
  at(path: string, work: (desk: Desk) => Promise<void>, given?: Given): Promise<void>;
  close(): Promise<void>;
}

export async function openDesks(): Promise<Desks> {
  let log = new InventedLog(coats, Date.now());
  const shows = { place: placeWith({}), overview: overviewOf(1) };
  const server = await startPretend(shows, (asked) => log.answer(asked));
  const browser: Browser = await openBrowser();
  return {
    async at(path, work, given = {}) {
      const { size = wallSize, language = "en", role = "quality", count = coats, isRefused = false } = given;
      log = new InventedLog(count, Date.now());
      Object.assign(log, { language, role });
      const { t } = wordsIn(language);
      const { page, context, faults } = await openPage(browser, server.address + path, size);
      await page.locator("h1").first().waitFor();
      await page.getByText(t("page.looking")).waitFor({ state: "detached" });
      await work({ page, log, t });
      expect(faults.filter((fault) => !(isRefused && /status of 4\d\d/.test(fault)))).toEqual([]);
      await context.close();
    },
    async close() {
      await browser.close();
      await server.stop();
    },
  };
}

/** The page says that so many fit. */
export const total = (page: Page, text: string) => page.getByRole("status").filter({ hasText: text }).waitFor();
