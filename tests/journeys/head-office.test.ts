/** A quality lead at a head office of three invented shops: one up to date, one silent, one whose log is in doubt. */
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { parse } from "csv-parse/sync";
import type { Browser, BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Language, wordsOf } from "../../words/words.ts";
import { fillWithChecks } from "../checked-shop.ts";
import { openOffice, type ServedOffice } from "../served-office.ts";
import { air, testPin } from "../served-shop.ts";
import { axeFindings, openBrowser, phoneSize, picture, wallSize } from "./browser.ts";

const pages = resolve(process.env.COATCLOCK_PAGES ?? join(import.meta.dirname, "../../dist/web"));
const by = { who: "Quality N", role: "quality" } as const;
const fault = "2026-11-02T08:00:00.000Z: entry 61 was not made after entry 60 as that stands here";
let office: ServedOffice;
let browser: Browser;
beforeAll(async () => {
  office = await openOffice(
    [
      {
        id: "north",
        name: "Invented north",
        fill: (shop) => {
          fillWithChecks(shop, 14);
          const coat = shop.records.coatsFinished(0, Date.now()).at(-1);
          if (coat === undefined) throw new Error("no coat");
          // Each minute, as sensors tell, so that there is a line to be seen.
          const minutes = Array.from(
            { length: 240 },
            (_, minute) => (coat.finishedAtMs - Date.now()) / 1000 + 60 * minute,
          );
          shop.send(minutes.flatMap((t, minute) => air(20 + 3 * Math.sin(minute / 40), 52 - minute / 20, t)));
          shop.records.answerDeviation(coat.id, "limits-not-judged", "measured by hand", by);
          shop.records.signOff(coat.id, "released for delivery", by);
          shop.records.issueCertificate(coat.carId, [coat.id], "ab".repeat(32), by);
        },
      },
      {
        id: "south",
        name: "Invented south",
        timeZone: "Europe/Lisbon",
        fill: (shop) => fillWithChecks(shop, 14, { seed: 3, factor: 1.3 }),
        state: { lastHeardMs: Date.now() - 26 * 3_600_000 },
      },
      {
        id: "west",
        name: "Invented west",
        fill: (shop) => fillWithChecks(shop, 4, { seed: 5 }),
        state: { fault },
      },
    ],
    { builtPages: pages },
  );
  browser = await openBrowser();
}, 60_000);
afterAll(async () => {
  await browser?.close();
  await office?.close();
});

const wordsIn = (language: Language) =>
  wordsOf({ language, timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } });
const { t } = wordsIn("en");

/** Signed in as the quality lead, and looks for script errors afterwards. */
async function at(address: string, work: (page: Page) => Promise<void>, language: Language = "en"): Promise<void> {
  const context = await browser.newContext({ viewport: wallSize });
  await context.addCookies(
    office.cookie.split("; ").map((cookie) => {
      const [name = "", value = ""] = cookie.split("=");
      return { name, value, url: office.base };
    }),
  );
  await context.addInitScript(`localStorage.setItem("coatclock.language", "${language}")`);
  const { page, faults } = await openIn(context, address);
  await page.locator("h1").first().waitFor();
  await work(page);
  expect(faults).toEqual([]);
  await context.close();
}

async function openIn(context: BrowserContext, address: string): Promise<{ page: Page; faults: string[] }> {
  const page = await context.newPage();
  const faults: string[] = [];
  page.on("pageerror", (error) => faults.push(String(error)));
  page.on("console", (message) => {
    if (message.type() === "error") faults.push(message.text());
  });
  await page.goto(office.base + address);
  return { page, faults };
}

function newestOf(shop: string): string {
  const newest = { shop, sort: "finished", order: "down" } as const;
  return office.shops.book.page(newest, Date.now(), { from: 0, size: 1 }).rows[0]?.coat ?? "";
}

const rows = (page: Page) => page.locator(".log-table tbody tr");
const total = (page: Page, count: number) =>
  page
    .getByRole("status")
    .filter({ hasText: t("log.total", { total: count }) })
    .waitFor();

describe("a quality lead", () => {
  it("signs in, and is led to the log of all shops", async () => {
    const context = await browser.newContext({ viewport: phoneSize });
    const { page } = await openIn(context, "/");
    await page.getByRole("link", { name: t("shell.sign-in") }).click();
    await page.getByLabel(t("sign-in.name")).fill("Quality A");
    await page.getByRole("button", { name: t("sign-in.next") }).click();
    for (const digit of testPin) await page.getByRole("button", { name: digit, exact: true }).click();
    await page.getByRole("button", { name: t("pin.done") }).click();
    await page.waitForURL(/\/log$/);
    await total(page, 32);
    // What there is not is not offered.
    const names = await page.getByRole("navigation").first().getByRole("link").allInnerTexts();
    expect(names).toEqual([t("desk.log"), t("desk.predictions"), t("desk.shops"), "Quality A"]);
    await page.goto(`${office.base}/settings`);
    await page.getByRole("button", { name: t("settings.sign-out") }).waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await context.close();
  });

  it("narrows the log down to one shop and its places, and takes that as a table", async () => {
    await at("/log", async (page) => {
      await total(page, 32);
      await page.getByText(/^2 shops are not up to date: Invented south \(silent\), Invented west/).waitFor();
      expect(await page.getByLabel(t("log.by-place")).count()).toBe(0);
      await page.getByLabel(t("log.by-shop")).selectOption({ label: "Invented west" });
      await total(page, 4);
      expect(await rows(page).filter({ hasText: "Invented west" }).count()).toBe(4);
      await page.getByLabel(t("log.by-place")).selectOption({ label: "Yard" });
      await total(page, 0);
      await page.getByLabel(t("log.by-shop")).selectOption({ label: "Invented south" });
      await total(page, 14);
      expect(new URL(page.url()).search).toBe("?shop=south");
      const [download] = await Promise.all([
        page.waitForEvent("download"),
        page.getByRole("link", { name: t("log.csv") }).click(),
      ]);
      const table = parse(readFileSync(await download.path()), { columns: true }) as Record<string, string>[];
      expect(table.map(({ shop }) => shop)).toEqual(Array(14).fill("Invented south"));
      await page
        .getByRole("columnheader", { name: t("log.shop") })
        .getByRole("link")
        .click();
      await page.locator('th[aria-sort="ascending"]', { hasText: t("log.shop") }).waitFor();
    });
  });

  it("reads one coat as its shop told it, and can enter nothing", async () => {
    await at("/log?shop=north&state=released", async (page) => {
      await rows(page).first().getByRole("link").click();
      await page.waitForURL(/\/log\/north\/[^/]+$/);
      await page.getByText("released for delivery").first().waitFor();
      await page.getByText("measured by hand").first().waitFor();
      await page.getByText("ab".repeat(32)).waitFor();
      await page.locator(".chart-plot canvas").waitFor();
      await page.getByText("As Invented north told it").waitFor();
      await page.getByText(t("caution.ready")).first().waitFor();
      expect(await page.getByRole("textbox").count()).toBe(0);
      expect(await page.locator("main button").count()).toBe(0);
      expect(await page.getByRole("link", { name: t("file.correct") }).count()).toBe(0);
    });
  });

  it("holds a coat of one shop against one of another", async () => {
    await at("/log?sort=shop", async (page) => {
      const box = (shop: string) => rows(page).filter({ hasText: shop }).first().getByRole("checkbox");
      await box("Invented south").check();
      await box("Invented west").check();
      await page.getByRole("link", { name: t("log.compare") }).click();
      await expect.poll(() => page.locator(".plate canvas").count()).toBe(2);
      await page.getByRole("heading", { name: /Invented south/ }).waitFor();
      await page.getByRole("heading", { name: /Invented west/ }).waitFor();
    });
  });

  it("compares the shops, and goes on to one", async () => {
    await at("/predictions", async (page) => {
      await page.getByText(t("shops-compared.title"), { exact: true }).waitFor();
      const row = (name: string) => page.getByRole("row").filter({ has: page.getByRole("rowheader", { name }) });
      expect(await row("Invented south").getByRole("cell").first().textContent()).toBe("14");
      expect(await row(t("predictions.of-total")).getByRole("cell").first().textContent()).toBe("32");
      await row("Invented south").getByRole("link").click();
      await page.locator(".mark-chart canvas").first().waitFor();
      await page.getByText(t("office.lessons")).waitFor();
      expect(await page.getByRole("combobox", { name: t("predictions.shop") }).inputValue()).toBe("south");
      await page.getByRole("combobox", { name: t("predictions.place") }).selectOption({ label: "Yard" });
      await page.getByRole("button", { name: t("predictions.show") }).click();
      await page.getByText(t("predictions.no-coats")).waitFor();
      await page
        .getByRole("combobox", { name: t("predictions.shop") })
        .selectOption({ label: t("predictions.all-shops") });
      await page.getByRole("button", { name: t("predictions.show") }).click();
      await page.getByText(t("shops-compared.title"), { exact: true }).waitFor();
    });
  });

  it("is told which shop is silent, and whose log is in doubt", async () => {
    await at("/shops", async (page) => {
      await page.getByText(t("shops.need-look", { count: 2, all: 3 })).waitFor();
      const row = (name: string) => page.getByRole("row").filter({ hasText: name });
      expect(await row("Invented north").textContent()).toContain(t("shops.state-up-to-date"));
      expect(await row("Invented south").textContent()).toContain("26 h");
      expect(await row("Invented west").textContent()).toContain(fault);
      office.shops.tell("west", { fault: null });
      await page.reload();
      await page.getByText(t("shops.need-look", { count: 1, all: 3 })).waitFor();
      office.shops.tell("west", { fault });
      await row("Invented west").getByRole("link").first().click();
      await rows(page).first().getByRole("link").click();
      await page.getByText(t("office.told-doubtful")).waitFor();
      // By the clock of another zone, and so said.
      await page.goto(`${office.base}/log/south/${newestOf("south")}`);
      await page.getByText(t("office.zone", { zone: "Europe/Lisbon" })).waitFor();
    });
  });
});

// Each language at one size: the pages differ by their words only, and German ones are the longer.
describe.each([
  ["en", "desk", wallSize],
  ["de", "phone", phoneSize],
] as const)("in %s on a %s", (language, where, size) => {
  const words = wordsIn(language);
  it.each([
    ["shops", () => "/shops", ".shops-table"],
    ["log", () => "/log?shop=west", ".log-table"],
    ["file", () => `/log/north/${newestOf("north")}`, ".chart-plot canvas"],
    ["compared", () => "/predictions", ".prediction-all"],
    ["predictions", () => "/predictions?shop=north", ".mark-chart canvas"],
  ])("%s is clean to axe, and no wider than the screen", async (name, address, sign) => {
    await at(
      address(),
      async (page) => {
        await page.locator(sign).first().waitFor();
        await page.getByText(words.t("office.copy")).waitFor();
        await page.setViewportSize(size);
        await expect.poll(() => page.evaluate("document.documentElement.scrollWidth <= innerWidth")).toBe(true);
        expect(await axeFindings(page)).toEqual([]);
        await picture(page, `office-${name}-${where}-${language}`);
      },
      language,
    );
  });
});
