/** A whole job by a thumb, from bare metal to polish, with two moves: each entry with the time at which it was done. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { carsSchema, carViewSchema } from "../../predictor/serve/api.ts";
import { entriesSchema } from "../../predictor/serve/entries.ts";
import { openBrowser, picture } from "./browser.ts";
import { type Air, airOf, minuteMs, openPhone, type Phone, shopFileOf, signInBy, wordsIn } from "./phone-hands.ts";
import { type Program, startProgram } from "./program.ts";

const words = wordsIn("en");
let program: Program;
let browser: Browser;
let air: Air;
let phone: Phone;
let car: string;

beforeAll(async () => {
  program = await startProgram(shopFileOf("jobs"));
  browser = await openBrowser();
  air = await airOf(program.broker, "jobs");
  await air.past(600);
  const at = new Date(Date.now() - 500 * minuteMs).toISOString();
  const panels = [{ name: "front door left" }];
  const made = await program.send("POST", "/api/cars", {
    job: "WHOLE-1",
    name: "Green estate",
    place: "prep",
    at,
    panels,
  });
  car = (made as { id: string }).id;
  phone = await openPhone(browser, program.address);
  await signInBy(phone, words, "Installer A");
}, 120_000);
afterAll(async () => {
  expect(phone.faults).toEqual([]);
  await browser.close();
  await air.end();
  await program.stop();
});

/** Opens the fold and types the time of day of so many minutes ago. */
async function at(minutes: number): Promise<void> {
  const { page } = phone;
  await page.locator(".when-picker > summary").tap();
  const time = new Date(Date.now() - minutes * minuteMs).toISOString().slice(11, 16);
  await page.locator(".when-picker input[type=time]").fill(time);
}

async function coat(kind: RegExp, minutes: number): Promise<void> {
  const { page, tap } = phone;
  await page.goto(`${program.address}/cars/${car}`);
  await tap(words.t("car.finished"));
  await tap(words.t("finish.next", { count: 1 }));
  await page.getByRole("button", { name: kind }).first().tap();
  await at(minutes);
  await tap(words.t("finish.finished"));
  await page.getByText(words.t("queue.said-sent")).waitFor();
}

async function move(place: string, minutes: number): Promise<void> {
  const { page, tap } = phone;
  await page.goto(`${program.address}/cars/${car}`);
  await tap(words.t("car.moved"));
  await at(minutes);
  await tap(place);
  await page.getByText(words.t("queue.said-sent")).waitFor();
}

async function check(stage: "sand" | "polish", how: "sanding" | "nail", minutes: number): Promise<void> {
  const { page, tap } = phone;
  await page.goto(`${program.address}/cars/${car}`);
  await tap(words.t("car.checked"));
  await tap(words.t(`stage.${stage}`), "radio");
  await tap(words.t(`how.${how}`), "radio");
  await at(minutes);
  await tap(words.t("check.ready"));
  await page.getByText(words.t("queue.said-sent")).waitFor();
}

it("from bare metal to polish stands in the record, each coat over the one before, each entry with its own time", async () => {
  await coat(/^pre-treatment/, 480);
  await coat(/^surfacer/, 470);
  await move("Workshop", 465);
  await check("sand", "sanding", 430);
  await move("Booth", 425);
  await coat(/^sealer/, 415);
  await coat(/^basecoat.*solvent/, 392);
  await coat(/^clearcoat/, 370);
  await check("polish", "nail", 240);

  const { page } = phone;
  await page.goto(`${program.address}/cars/${car}`);
  await page.getByText(words.t("ready.polish")).first().waitFor();
  await picture(page, "car-phone");
  const view = carViewSchema.parse(await program.get(`/api/cars/${car}`));
  const [clear] = view.coats.filter(({ covered }) => !covered);
  expect(clear?.sheet.kind).toBe("clearcoat");
  expect(clear?.prediction?.windows.filter(({ state }) => state === "missed")).toEqual([]);
  expect(clear?.checks).toMatchObject([{ stage: "polish", ready: true, how: "nail", who: "Installer A" }]);
  expect(clear?.sprayCheck?.limits.map(({ state }) => state)).toEqual(["inside", "inside", "inside", "inside"]);
  expect(view.moves.map(({ place }) => place)).toEqual(["prep", "workshop", "booth"]);

  const { entries } = entriesSchema.parse(await program.get(`/api/cars/${car}/entries`));
  expect(entries.map(({ kind }) => kind)).toEqual([
    "car-came",
    "coats-finished",
    "coats-finished",
    "car-moved",
    "coat-checked",
    "car-moved",
    "coats-finished",
    "coats-finished",
    "coats-finished",
    "coat-checked",
  ]);
  expect(new Set(entries.map(({ who }) => who))).toEqual(new Set(["Installer A"]));
  for (const [index, { what }] of entries.entries()) {
    const atMs = Number(what.finishedAtMs ?? what.atMs);
    const before = entries[index - 1]?.what;
    expect(atMs).toBeGreaterThan(Number(before?.finishedAtMs ?? before?.atMs ?? 0));
  }
});

it("ends with the car out of the shop, asked twice", async () => {
  const { page, tap } = phone;
  await page.goto(`${program.address}/cars/${car}`);
  await tap(words.t("car.moved"));
  await tap(words.t("move.left"));
  // A second press within 0.6 s would count as the same one.
  await page.waitForTimeout(800);
  await tap(words.t("move.left-sure"));
  await expect.poll(async () => carsSchema.parse(await program.get("/api/cars")).cars).toEqual([]);
});
