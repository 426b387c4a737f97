/** The quality lead at the desk: the log, filtered, sorted and paged, and two coats side by side. */
import type { Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Desks, openDesks, total } from "./desk-hands.ts";

let desks: Desks;
beforeAll(async () => {
  desks = await openDesks();
}, 60_000);
afterAll(async () => {
  await desks?.close();
});

const rows = (page: Page) => page.locator(".log-table tbody tr");
describe("the log", () => {
  it("narrows down by each filter, keeps it in the address and in the CSV, and is cleared again", async () => {
    await desks.at("/log", async ({ page, t }) => {
      await total(page, "64 coats");
      await page.getByLabel(t("log.by-deviation")).selectOption({ label: t("deviation.window-missed") });
      await total(page, "8 coats");
      await page.getByLabel(t("log.by-car")).fill("blue");
      await total(page, "3 coats");
      expect(new URL(page.url()).search).toBe("?car=blue&deviation=window-missed");
      const href = await page.getByRole("link", { name: t("log.csv") }).getAttribute("href");
      expect(Object.fromEntries(new URL(href ?? "", page.url()).searchParams)).toEqual({
        sort: "finished",
        order: "down",
        car: "blue",
        deviation: "window-missed",
      });
      // What is typed into keeps the focus.
      expect(await page.evaluate("document.activeElement.type")).toBe("search");
      await page.reload();
      await total(page, "3 coats");
      await page.goBack();
      await total(page, "8 coats");
      await page.getByLabel(t("log.by-car")).fill("no such car");
      await page.getByText(t("log.none-fits")).waitFor();
      await page
        .getByRole("link", { name: t("log.clear") })
        .last()
        .click();
      await total(page, "64 coats");
    });
  });

  it("takes the shop's days, both included", async () => {
    await desks.at("/log", async ({ page, log, t }) => {
      const day = (log.files[10]?.coat.finishedAt ?? "").slice(0, 10);
      const ofDay = log.files.filter(({ coat }) => coat.finishedAt.startsWith(day)).length;
      await page.getByLabel(t("log.by-from")).fill(day);
      await page.getByLabel(t("log.by-to"), { exact: true }).fill(day);
      await total(page, `${ofDay} coats`);
      expect(await rows(page).count()).toBe(ofDay);
    });
  });

  it("sorts by the head of a column, and says so", async () => {
    await desks.at("/log", async ({ page, t }) => {
      const head = (name: string) => page.getByRole("columnheader", { name });
      expect(await head(t("log.finished")).getAttribute("aria-sort")).toBe("descending");
      await head(t("log.car")).getByRole("link").click();
      await page.locator('th[aria-sort="ascending"]', { hasText: t("log.car") }).waitFor();
      await rows(page).first().getByText("Black saloon").waitFor();
      // By the keyboard the other way round.
      await page.keyboard.press("Enter");
      await page.locator('th[aria-sort="descending"]', { hasText: t("log.car") }).waitFor();
      await rows(page).first().getByText("White pick-up").waitFor();
      expect(await head(t("log.finished")).getAttribute("aria-sort")).toBeNull();
    });
  });

  it("turns the page, and leads from a row to its coat", async () => {
    await desks.at("/log", async ({ page, t }) => {
      expect(await rows(page).count()).toBe(50);
      await page.getByText(t("log.page-of", { page: 1, pages: 2 })).waitFor();
      await page.getByRole("link", { name: t("log.page-after") }).click();
      await page.getByText(t("log.page-of", { page: 2, pages: 2 })).waitFor();
      await expect.poll(() => rows(page).count()).toBe(14);
      // Anywhere in the row.
      await rows(page).nth(1).locator("td").nth(4).click({ force: true });
      await page.waitForURL(/\/log\/coat-51$/);
    });
  });

  it("says when there is no coat yet, when a filter is none, and to whom it is closed", async () => {
    await desks.at("/log", async ({ page, t }) => page.getByText(t("log.none")).waitFor(), { count: 0 });
    const isRefused = true;
    await desks.at(
      "/log?state=odd",
      async ({ page, t }) => {
        await page.getByRole("alert").getByText(/state/).waitFor();
        await page
          .getByRole("link", { name: t("log.clear") })
          .first()
          .click();
        await total(page, "64 coats");
      },
      { isRefused },
    );
    await desks.at(
      "/log?car=7",
      async ({ page, t }) => {
        const link = page.getByRole("link", { name: t("shell.sign-in") });
        expect(await link.getAttribute("href")).toBe("/sign-in?to=%2Flog%3Fcar%3D7");
        await page.getByText(t("sign-in.needed-to-read")).waitFor();
      },
      { isRefused, role: "closed" },
    );
  });

  it("offers to compare the two that are chosen, a third can't be", async () => {
    await desks.at("/log", async ({ page, t }) => {
      const boxes = page.getByRole("checkbox");
      await boxes.nth(0).check();
      await page.getByText(t("log.choose-another")).waitFor();
      await boxes.nth(2).check();
      expect(await boxes.nth(1).isDisabled()).toBe(true);
      await page.getByRole("link", { name: t("log.compare") }).click();
      await page.waitForURL(/\/log\/compare\?coats=coat-0%2Ccoat-2$/);
      await expect.poll(() => page.locator(".plate canvas").count()).toBe(2);
      const figures = page.getByRole("row", { name: new RegExp(`^${t("file.quantity-airC")}`) });
      expect(
        (await figures.getByRole("cell").allInnerTexts()).map((text) => text.split(/\s(?=\d+(\.\d)? °C to)/)[0]),
      ).toEqual([expect.stringContaining("20 °C"), expect.stringContaining("21 °C")]);
    });
  });
});
