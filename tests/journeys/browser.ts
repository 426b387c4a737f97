/** A real Chromium, at the two sizes that people look at: the wall display and a phone. */
import { existsSync, mkdirSync } from "node:fs";
import { join, resolve } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";
import { catalogues } from "../../words/words.ts";

const executablePath = "/usr/bin/chromium";
export const wallSize = { width: 1920, height: 1080 };
export const phoneSize = { width: 390, height: 844 };

export async function openBrowser(): Promise<Browser> {
  if (!existsSync(executablePath)) throw new Error(`${executablePath} is missing: install the Debian package chromium`);
  return await chromium.launch({
    executablePath,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}

/** Opens a page; what goes wrong in it (script errors, refused requests) is collected. */
export async function openPage(
  browser: Browser,
  url: string,
  viewport: { width: number; height: number },
): Promise<{ page: Page; context: BrowserContext; faults: string[] }> {
  const context = await browser.newContext({ viewport });
  const page = await context.newPage();
  const faults: string[] = [];
  page.on("pageerror", (error) => faults.push(String(error)));
  page.on("console", (message) => {
    if (message.type() === "error") faults.push(message.text());
  });
  await page.goto(url);
  return { page, context, faults };
}

/** What axe finds against WCAG 2.2 A and AA, in short, and texts that the page lacks: it shows their keys. */
export async function axeFindings(page: Page): Promise<string[]> {
  const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
  const { violations } = await new AxeBuilder({ page }).withTags(tags).analyze();
  return [
    ...violations.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.target.join(" ")).join(", ")}`),
    ...(await bareKeys(page)).map((key) => `a text that the page lacks: ${key}`),
  ];
}

/** Keys of the catalogue that stand in a page, or in what it says to a screen reader, instead of their texts. */
async function bareKeys(page: Page): Promise<string[]> {
  const shown = await page.content();
  return Object.keys(catalogues.en).filter((key) => shown.includes(`>${key}<`) || shown.includes(`"${key}"`));
}

/** Keeps a picture for the guides where COATCLOCK_PICTURES names a folder; else takes none. */
export async function picture(page: Page, name: string): Promise<void> {
  const folder = process.env.COATCLOCK_PICTURES;
  if (folder === undefined || folder === "") return;
  mkdirSync(resolve(folder), { recursive: true });
  await page.screenshot({ path: join(resolve(folder), `${name}.png`) });
}
