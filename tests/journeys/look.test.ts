/** How the phone's pages look, to axe and to a thumb in a glove: every page, both languages, both units, both sizes. */
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { axeFindings, openBrowser, phoneSize, picture, wallSize } from "./browser.ts";
import { type Air, airOf, minuteMs, openPhone, type Phone, shopFileOf, signInBy, wordsIn } from "./phone-hands.ts";
import { type Program, startProgram } from "./program.ts";

/** 19 mm on a phone whose 390 CSS pixels are 65 mm wide (assumed: displays of that width are 64 to 71 mm wide). */
const glovePx = (19 / 65) * 390;
/** 8 mm for anything else that is touched. */
const touchPx = (8 / 65) * 390;

let program: Program;
let browser: Browser;
let air: Air;
let paths: Record<string, string>;

beforeAll(async () => {
  program = await startProgram(shopFileOf("looks", ", units: { temperature: F, clock: 12h }"));
  browser = await openBrowser();
  air = await airOf(program.broker, "looks");
  await air.past(120);
  const at = new Date(Date.now() - 100 * minuteMs).toISOString();
  const panels = [{ name: "bonnet" }, { name: "front door left" }, { name: "sliding door" }];
  const body = { job: "LOOK-1", name: "Blue hatchback", place: "booth", at, panels, colour: "violet" };
  const { id } = (await program.send("POST", "/api/cars", body)) as { id: string };
  const finishedAt = new Date(Date.now() - 13 * minuteMs).toISOString();
  await program.send("POST", `/api/cars/${id}/coats`, {
    panels: ["front door left"],
    sheet: "demo-pretreat",
    finishedAt,
  });
  const clear = { panels: ["bonnet"], sheet: "demo-clear", finishedAt };
  const { coats } = (await program.send("POST", `/api/cars/${id}/coats`, clear)) as { coats: { id: string }[] };
  const coat = coats[0]?.id ?? "";
  await program.send("POST", `/api/coats/${coat}/checks`, { stage: "dust-free", ready: true, how: "thumb" });
  await program.send("POST", "/api/mixes", { sheet: "demo-clear", place: "booth" });
  paths = {
    cars: "/",
    "new-car": "/cars/new",
    car: `/cars/${id}`,
    card: `/cars/${id}/card`,
    finish: `/cars/${id}/finish`,
    coat: `/coats/${coat}`,
    mix: `/mix?car=${id}`,
    spray: "/spray",
    warnings: "/warnings",
    settings: "/settings",
    people: "/people",
    "sign-in": "/sign-in",
    "no-such-car": "/cars/none",
  };
}, 120_000);
afterAll(async () => {
  await browser.close();
  await air.end();
  await program.stop();
});

async function signedIn(language: "en" | "de", viewport = phoneSize): Promise<Phone> {
  const phone = await openPhone(browser, program.address, viewport);
  await phone.page.evaluate(`localStorage.setItem("coatclock.language", "${language}")`);
  await signInBy(phone, wordsIn(language), "Installer A");
  return phone;
}

async function settled(page: Page, path: string): Promise<void> {
  await page.goto(program.address + path);
  await page.locator("h1").first().waitFor();
  // Figures that are asked for come a moment later.
  await page.waitForTimeout(700);
}

/** Everything that is touched and is too small for it, with its size. Links within a sentence are not touched with a glove. */
const tooSmall = `(least, gloved) => [...document.querySelectorAll("button, a[href], input, select, summary, [role=checkbox]")]
  .filter((element) => element.checkVisibility() && !element.closest("p, .unseen"))
  .flatMap((element) => {
    const target = element.closest("label") ?? element;
    const { width, height } = target.getBoundingClientRect();
    const need = element.classList.contains("action-main") ? gloved : least;
    return height + 0.6 >= need && width + 0.6 >= least ? [] : [target.outerHTML.slice(0, 90) + " " + Math.round(width) + "×" + Math.round(height)];
  })`;

describe.each(["en", "de"] as const)("in %s", (language) => {
  it("every page is clean to axe on a phone, large enough for a glove, no wider than the phone, and has its own title", async () => {
    const { page, context, faults } = await signedIn(language);
    const titles = new Set<string>();
    for (const [name, path] of Object.entries(paths)) {
      await settled(page, path);
      expect(await axeFindings(page), name).toEqual([]);
      expect(await page.evaluate(`(${tooSmall})(${touchPx}, ${glovePx})`), name).toEqual([]);
      expect(await page.evaluate("document.documentElement.scrollWidth"), name).toBeLessThanOrEqual(phoneSize.width);
      expect(await page.evaluate("document.documentElement.lang"), name).toBe(language);
      titles.add(await page.title());
      await picture(page, `${name}-${language}`);
    }
    expect(titles.size).toBeGreaterThanOrEqual(Object.keys(paths).length - 1);
    expect(faults).toEqual([]);
    await context.close();
  }, 240_000);
});

it("every page is clean to axe on a desk's screen", async () => {
  const { page, context, faults } = await signedIn("en", wallSize);
  for (const [name, path] of Object.entries(paths)) {
    await settled(page, path);
    expect(await axeFindings(page), name).toEqual([]);
    await picture(page, `${name}-wide`);
  }
  expect(faults).toEqual([]);
  await context.close();
}, 240_000);

describe("units and languages", () => {
  it("speaks °F and a 12-hour clock where the shop does, with a decimal comma in German", async () => {
    const { page, context } = await signedIn("en");
    await air.now(20, 50);
    await settled(page, paths.spray ?? "");
    await page.getByText("68 °F").first().waitFor();
    await page
      .getByText(/\d{1,2}:\d\d (am|pm)/)
      .first()
      .waitFor();
    await context.close();
    const german = await signedIn("de");
    await settled(german.page, paths.spray ?? "");
    await german.page.getByRole("heading", { name: wordsIn("de").t("spray.title") }).waitFor();
    await german.page.getByText("Lufttemperatur").first().waitFor();
    await german.page
      .getByText(/\d,\d °F innerhalb/)
      .first()
      .waitFor();
    await german.context.close();
  });

  it("changes with the choice on this phone, at once and for later", async () => {
    const { page, tap, context } = await signedIn("en");
    await settled(page, "/settings");
    await tap("Deutsch", "radio");
    await page.getByRole("heading", { name: wordsIn("de").t("settings.title") }).waitFor();
    await page.reload();
    await page.getByRole("heading", { name: wordsIn("de").t("settings.title") }).waitFor();
    await settled(page, paths.car ?? "");
    await page
      .getByText(/Klarlack|Motorhaube/)
      .first()
      .waitFor();
    await context.close();
  });
});
