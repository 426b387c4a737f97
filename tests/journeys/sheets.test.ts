/** A data sheet from the printed page to the gun: typed, mended, drawn, kept, approved, sprayed, and out and in as a file. */
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { sheetFilesSchema } from "../../predictor/serve/sheet-api.ts";
import type { Words } from "../../words/words.ts";
import { axeFindings, openBrowser, phoneSize, picture, wallSize } from "./browser.ts";
import { openPhone, type Phone, shopFileOf, signInBy, wordsIn } from "./phone-hands.ts";
import { type Program, pin, startProgram } from "./program.ts";

let program: Program;
let browser: Browser;
beforeAll(async () => {
  program = await startProgram(shopFileOf("sheets"));
  browser = await openBrowser();
  await program.send("POST", "/api/people", { name: "Quality A", role: "quality", pin });
}, 120_000);
afterAll(async () => {
  await browser.close();
  expect(await program.stop()).toBe(0);
});

async function deskOf(language: "en" | "de", viewport: typeof wallSize): Promise<Phone & { words: Words }> {
  const desk = await openPhone(browser, program.address, viewport);
  await desk.page.evaluate(`localStorage.setItem("coatclock.language", "${language}")`);
  const words = wordsIn(language);
  await signInBy(desk, words, "Quality A");
  return { ...desk, words };
}
const open = async (page: Page, path: string) => {
  await page.goto(program.address + path);
  await page.locator("h1").first().waitFor();
};
const revisions = async (id: string) =>
  sheetFilesSchema.parse(await program.get("/api/sheet-files")).sheets.find((each) => each.id === id)?.revisions ?? [];

/** Types a sheet as it is printed. */
async function typeSheet(page: Page, words: Words, name: string): Promise<void> {
  await page.getByLabel(words.t("sheets.field.name"), { exact: true }).fill(name);
  await page.getByLabel(words.t("sheets.field.kind"), { exact: true }).fill("clearcoat");
  await page.getByLabel(words.t("sheets.field.film.dryUm")).fill("50");
  await page.getByLabel(words.t("sheets.field.invented")).check();
  const cell = (stage: string, at: string) =>
    page.getByLabel(words.t("sheets.cell", { stage: words.named("stage", stage), at: `${at} °C` }));
  await cell("dust-free", "20").fill("10");
  await cell("dust-free", "60").fill("3");
  await cell("demask", "20").fill("40");
  await cell("demask", "60").fill("2");
}

describe.each([
  ["en", wallSize, "wide"],
  ["de", phoneSize, "phone"],
] as const)("in %s", (language, viewport, size) => {
  it("a new sheet is mended at its field, drawn, kept over a reload, approved, and taken by new coats alone", async () => {
    const { page, words, context, faults } = await deskOf(language, viewport);
    const id = `trial-${language}`;
    await open(page, "/sheets?new");
    await page.getByText(/fields are still|Angaben fehlen noch/).waitFor();
    // Nothing is called wrong before it was typed.
    expect(await page.locator("[aria-invalid=true]").count()).toBe(0);
    await typeSheet(page, words, `Trial ${language}`);
    const told = page.locator(".sheet-row-fault");
    await told.waitFor();
    expect(await told.textContent()).toContain(words.temperature(60));
    expect(await page.locator(".sheet-curves").count()).toBe(0);
    await picture(page, `sheet-fault-${size}`);
    expect(await axeFindings(page)).toEqual([]);

    const unmask = words.named("stage", "demask");
    await page.getByLabel(words.t("sheets.cell", { stage: unmask, at: "60 °C" })).fill("8");
    await page.getByText(words.t("sheets.sound")).waitFor();
    await page.locator(".sheet-curves svg").waitFor();
    expect(await page.locator(".sheet-curves svg").textContent()).toContain(unmask);

    await page.reload();
    await page.getByText(words.t("sheets.draft-from-before")).waitFor();
    expect(await page.getByLabel(words.t("sheets.field.name"), { exact: true }).inputValue()).toBe(`Trial ${language}`);
    await page.getByText(words.t("sheets.sound")).waitFor();
    expect(await page.evaluate("document.documentElement.scrollWidth")).toBeLessThanOrEqual(viewport.width);

    if (language === "en") {
      // The session runs out meanwhile: the draft outlives the way to the sign-in page and back.
      await context.clearCookies();
      await page.getByRole("button", { name: words.t("sheets.keep", { revision: 1 }) }).click();
      await page
        .getByRole("alert")
        .getByRole("link", { name: words.t("shell.sign-in") })
        .click();
      await page.getByRole("button", { name: "Quality A", exact: true }).click();
      for (const digit of pin) await page.getByRole("button", { name: digit, exact: true }).click();
      await page.getByRole("button", { name: words.t("pin.done"), exact: true }).click();
      await page.waitForURL(/sheets\?new/);
      await page.getByText(words.t("sheets.sound")).waitFor();
    }
    await page.getByRole("button", { name: words.t("sheets.keep", { revision: 1 }) }).click();
    await page.waitForURL(/revision=1/);
    await page.getByText(words.t("sheets.stands-waiting", { newest: "none" })).waitFor();
    expect(await revisions(id)).toMatchObject([{ revision: 1, who: "Quality A", approved: null }]);
    await page.getByText(words.t("sheets.own-approval")).waitFor();
    await page.getByRole("button", { name: words.t("sheets.approve", { revision: 1 }) }).click();
    await page.getByText(words.t("sheets.stands-taken")).waitFor();
    await page.getByText(words.t("sheets.same-person")).waitFor();

    // A coat by this revision; then the next one, which it does not take.
    const panels = [{ name: "bonnet" }, { name: "roof" }];
    const car = { job: `S-${language}`, name: "Invented van", place: "booth", panels };
    const { id: carId } = (await program.send("POST", "/api/cars", car)) as { id: string };
    const coat = async (panel: string) => {
      const entry = { panels: [panel], sheet: id };
      const { coats } = (await program.send("POST", `/api/cars/${carId}/coats`, entry)) as {
        coats: { id: string; sheet: { revision: number } }[];
      };
      return coats[0] ?? { id: "", sheet: { revision: 0 } };
    };
    const old = await coat("bonnet");
    await page.getByRole("link", { name: words.t("sheets.revise") }).click();
    await page
      .getByLabel(words.t("sheets.cell", { stage: unmask, at: "20 °C" }))
      .fill(language === "de" ? "38,5" : "38.5");
    await page.getByLabel(words.t("sheets.reason")).fill("new print");
    await page.getByText(words.t("sheets.sound")).waitFor();
    await page.getByRole("button", { name: words.t("sheets.keep", { revision: 2 }) }).click();
    await page.getByText(words.t("sheets.stands-waiting", { newest: 1 })).waitFor();
    await page.getByRole("rowheader", { name: words.t("sheets.field.minutes-at", { at: { celsius: 20 } }) }).waitFor();
    expect(await axeFindings(page)).toEqual([]);
    await page.getByRole("button", { name: words.t("sheets.approve", { revision: 2 }) }).click();
    await page.getByText(words.t("sheets.stands-taken")).waitFor();
    expect((await coat("roof")).sheet.revision).toBe(2);
    expect(await program.get(`/api/coats/${old.id}`)).toMatchObject({ sheet: { revision: 1 } });
    await open(page, `/sheets/${id}`);
    const laid = page.getByRole("link", { name: words.t("sheets.coats-of", { count: 1 }) });
    await expect.poll(() => laid.count()).toBe(2);
    expect(await laid.first().getAttribute("href")).toBe(`/log?sheet=${id}`);
    await picture(page, `sheet-${size}`);
    expect(await axeFindings(page)).toEqual([]);
    expect(faults).toEqual([]);
    await context.close();
  }, 60_000);
});

it("a sheet goes out as YAML and comes in again, changed, as its next revision; what does not fit is told by line", async () => {
  const { page, words, context, faults } = await deskOf("en", wallSize);
  await open(page, "/sheets");
  expect(await axeFindings(page)).toEqual([]);
  await page.getByRole("link", { name: "Invented air-dry clear" }).click();
  const [saved] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("link", { name: words.t("sheets.as-yaml") }).click(),
  ]);
  expect(saved.suggestedFilename()).toBe("demo-clear-2.yaml");
  const yaml = readFileSync(await saved.path(), "utf8");
  await open(page, "/sheets?read");
  const read = async (text: string) => {
    await page.getByLabel(words.t("sheets.read-text")).fill(text);
    await page.getByRole("button", { name: words.t("sheets.read-do"), exact: true }).click();
  };
  await read(yaml);
  await page.getByText(words.t("sheets.read-known")).waitFor();
  await read(yaml.replace("dryUm: 55", "dryUm: none"));
  await page.getByText(/^Line \d+, sheets\.0\.film\.dryUm/).waitFor();
  expect(await axeFindings(page)).toEqual([]);
  await read(yaml.replace("dryUm: 55", "dryUm: 60"));
  await page.getByRole("button", { name: words.t("sheets.take", { revision: 3 }) }).click();
  await page.waitForURL(/demo-clear\?revise/);
  expect(await page.getByLabel(words.t("sheets.field.film.dryUm")).inputValue()).toBe("60");
  await page.getByText(words.t("sheets.sound")).waitFor();
  // Nothing was kept so far; and somebody else is quicker now.
  expect(await revisions("demo-clear")).toHaveLength(1);
  const { sheet } = (await program.get("/api/sheet-files/demo-clear/2")) as { sheet: object };
  await program.send("POST", "/api/sheet-files", { sheet: { ...sheet, revision: 3, name: "Other" } });
  await page.getByRole("button", { name: words.t("sheets.keep", { revision: 3 }) }).click();
  await page.getByText(/Somebody else kept a revision meanwhile/).waitFor();
  await page.getByRole("button", { name: words.t("sheets.go-on-as", { next: 4 }) }).click();
  await page.getByRole("button", { name: words.t("sheets.keep", { revision: 4 }) }).click();
  await page.waitForURL(/revision=4/);
  expect(await revisions("demo-clear")).toMatchObject([
    { revision: 4, who: "Quality A" },
    { revision: 3 },
    { revision: 2 },
  ]);
  expect(faults).toEqual([]);
  await context.close();
}, 60_000);
