/** A painter's phone in a real browser, with a thumb: from the first start to warnings, without a link, and with a wrong PIN. */
import type { Browser } from "playwright-core";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { carsSchema, warningsSchema } from "../../predictor/serve/api.ts";
import { entriesSchema } from "../../predictor/serve/entries.ts";
import { axeFindings, openBrowser, picture, wallSize } from "./browser.ts";
import { type Air, airOf, minuteMs, openPhone, type Phone, shopFileOf, signInBy, wordsIn } from "./phone-hands.ts";
import { type Program, pin, startProgram } from "./program.ts";

const words = wordsIn("en");
let program: Program;
let browser: Browser;
let air: Air;
const phones: Phone[] = [];

beforeAll(async () => {
  program = await startProgram(shopFileOf("phones"));
  browser = await openBrowser();
  air = await airOf(program.broker, "phones");
  await air.past(240);
}, 120_000);
afterEach(async () => {
  for (const phone of phones.splice(0)) {
    expect(phone.faults).toEqual([]);
    await phone.context.close();
  }
});
afterAll(async () => {
  await browser.close();
  await air.end();
  await program.stop();
});

async function phone(path = "/", viewport?: { width: number; height: number }): Promise<Phone> {
  const opened = await openPhone(browser, program.address + path, viewport);
  phones.push(opened);
  return opened;
}
const cars = async () => carsSchema.parse(await program.get("/api/cars")).cars;
const carOf = async (job: string) => {
  const car = (await cars()).find((each) => each.job === job);
  if (car === undefined) throw new Error(`no car ${job}`);
  return car;
};
const ago = (minutes: number) => new Date(Date.now() - minutes * minuteMs).toISOString();

/** A car with a coat on its bonnet, entered over HTTP. */
async function carWith(job: string, sheet: string | null, minutes: number): Promise<{ car: string; coat: string }> {
  const made = (await program.send("POST", "/api/cars", {
    job,
    name: `Van ${job}`,
    place: "booth",
    at: ago(200),
    panels: [{ name: "bonnet" }, { name: "roof" }],
  })) as { id: string };
  if (sheet === null) return { car: made.id, coat: "" };
  const { coats } = (await program.send("POST", `/api/cars/${made.id}/coats`, {
    panels: ["bonnet"],
    sheet,
    finishedAt: ago(minutes),
  })) as { coats: { id: string }[] };
  return { car: made.id, coat: coats[0]?.id ?? "" };
}

describe("from the first start to the first coat", () => {
  it("someone who reads nothing sets the shop up, takes a car in, and knows when to sand it, within a minute", async () => {
    const link = /set-up\s+http:\/\/[^/]+(\/set-up\?token=\S+)/.exec(program.output())?.[1];
    expect(link).toBeDefined();
    const { page, tap, taps } = await phone(link);
    await page.getByLabel(words.t("set-up.name")).fill("Installer A");
    await page.getByLabel(words.t("pin.new"), { exact: true }).fill(pin);
    await page.getByLabel(words.t("pin.again")).fill(pin);
    await tap(words.t("set-up.done"));
    // Setting up leads on to adding people; the painter goes to the cars.
    await expect.poll(() => page.url()).not.toContain("set-up");
    await page.goto(`${program.address}/`);

    const startedMs = Date.now();
    const before = taps();
    await tap(words.t("cars.new"));
    await page.getByLabel(words.t("new-car.job")).fill("FIRST-1");
    await tap("bonnet", "checkbox");
    await tap("roof", "checkbox");
    await tap(words.t("new-car.take-in"));
    await tap(words.t("car.finished"));
    const atFinish = taps();
    await tap(words.t("finish.next", { count: 2 }));
    await page.getByRole("button", { name: /^surfacer/ }).tap();
    await tap(words.t("finish.finished"));
    await page.getByText(words.t("queue.said-sent")).waitFor();
    const answer = page.locator(".answer-now");
    await answer.waitFor();
    const sand = answer.first().getByRole("row", { name: /^Sand/ });
    await expect.poll(() => sand.textContent()).toMatch(/Sand not yet\d\d:\d\d\d\d:\d\d/);
    const seconds = (Date.now() - startedMs) / 1000;
    console.log(`a car and its first coat: ${taps() - before + 1} taps, ${seconds.toFixed(1)} s by a machine's hand`);
    expect(taps() - atFinish + 1).toBe(3);
    await picture(page, "finish-phone");
    expect((await carOf("FIRST-1")).coats).toMatchObject([{ who: "Installer A", sprayCheck: { state: "spray" } }]);
  });
});

describe("signing in", () => {
  it("keeps what was entered before, refuses wrong PINs, makes wait after many, and lets each role do its own", async () => {
    await program.send("POST", "/api/people", { name: "Paul", role: "painter", pin: "1538" });
    const { car } = await carWith("ROLE-1", null, 0);
    const opened = await phone(`/cars/${car}`);
    const { page, tap } = opened;
    await tap(words.t("car.moved"));
    await tap("Workshop");
    // Nobody is signed in: the entry waits, and the page asks who it is.
    await expect.poll(() => page.url()).toContain("/sign-in");
    for (let tries = 0; tries < 5; tries++) {
      await signInBy(opened, words, "Paul", "0000");
      await page.getByRole("alert").waitFor();
    }
    await signInBy(opened, words, "Paul", "0000");
    await page.getByText("Too many wrong PINs").waitFor();
    await signInBy(opened, words, "Installer A");
    await expect.poll(async () => (await carOf("ROLE-1")).place?.id).toBe("workshop");
    expect((await carOf("ROLE-1")).moves.at(-1)?.who).toBe("Installer A");
    await page.goto(`${program.address}/people`);
    await page
      .getByRole("button", { name: words.t("people.add") })
      .first()
      .waitFor();

    const other = await phone("/people");
    await other.page.getByText(words.t("people.installer-only")).waitFor();
    expect(await other.page.getByRole("button", { name: words.t("people.add") }).count()).toBe(0);
  });
});

describe("without a link", () => {
  it("entries wait on the phone with their own time, over a reload of what is on it, and are sent once", async () => {
    const { car } = await carWith("OFF-1", null, 0);
    const opened = await phone();
    const { page, tap, context } = opened;
    await signInBy(opened, words, "Installer A");
    await page.goto(`${program.address}/cars/${car}/finish`);
    await page.getByRole("checkbox", { name: "bonnet" }).waitFor();
    await context.setOffline(true);
    await tap(words.t("finish.next", { count: 2 }));
    await page.getByRole("button", { name: /^clearcoat/ }).tap();
    const tappedMs = Date.now();
    await tap(words.t("finish.finished"));
    await page.getByText(words.t("queue.said-waiting")).waitFor();
    await page.getByText(words.t("queue.waiting", { count: 1 })).waitFor();
    await picture(page, "waiting-phone");
    await new Promise((resolve) => setTimeout(resolve, 3_000));
    expect((await carOf("OFF-1")).coats).toEqual([]);
    await context.setOffline(false);
    await expect.poll(async () => (await carOf("OFF-1")).coats.length, { timeout: 40_000 }).toBe(1);
    await page.getByText(words.t("queue.waiting", { count: 1 })).waitFor({ state: "detached" });
    const [coat] = (await carOf("OFF-1")).coats;
    expect(Math.abs(Date.parse(coat?.finishedAt ?? "") - tappedMs)).toBeLessThan(2_500);
    const { entries } = entriesSchema.parse(await program.get(`/api/cars/${car}/entries`));
    const finished = entries.filter(({ kind }) => kind === "coats-finished");
    expect(finished).toHaveLength(1);
    expect(Date.parse(finished[0]?.at ?? "") - tappedMs).toBeGreaterThan(2_500);
  });
});

describe("a correction", () => {
  it("takes a reason, keeps the old value beside the new one, and moves the times", async () => {
    const { coat } = await carWith("FIX-1", "demo-clear", 20);
    const opened = await phone();
    const { page, tap } = opened;
    await signInBy(opened, words, "Installer A");
    await page.goto(`${program.address}/coats/${coat}`);
    const safeBefore = await page.locator(".stages tbody tr").nth(1).textContent();
    await tap(words.t("coat.correct"));
    await tap(words.t("corrected.filmUm"), "radio");
    await page.getByLabel(words.t("mix.film")).fill("90");
    await tap(words.t("reason.measured"));
    await page.getByText(words.t("queue.said-sent")).waitFor();
    await page.getByText("90 µm").waitFor();
    expect(await page.getByText(words.t("coat.by-sheet")).count()).toBe(1);
    expect(await page.getByText(/measured later \(Installer A/).count()).toBe(1);
    await expect.poll(() => page.locator(".stages tbody tr").nth(1).textContent()).not.toBe(safeBefore);
  });
});

describe("a window that is missed", () => {
  it("is told on the car, with what must be done now, and as a warning", async () => {
    const { car } = await carWith("MISS-1", "demo-pretreat", 40);
    const { page } = await phone(`/cars/${car}`);
    await page.getByText("Missed: cover with surfacer").first().waitFor();
    await expect
      .poll(async () => warningsSchema.parse(await program.get("/api/warnings")).warnings.map(({ rule }) => rule))
      .toContain("window-missed");
    await page.goto(`${program.address}/warnings`);
    await page.getByText(/Van MISS-1.*too late to cover with surfacer/).waitFor();
    await page.getByText("Now abrade and pre-treat the bare metal again", { exact: false }).first().waitFor();
  });
});

describe("a warning's whole life", () => {
  it("reaches the phone as a notice, is answered there, leaves the wall, is not said again, and ends by itself", async () => {
    const wall = await phone("/wall/booth", wallSize);
    const opened = await phone();
    const { page, tap } = opened;
    await signInBy(opened, words, "Installer A");
    await page.goto(`${program.address}/`);
    await page.getByRole("heading", { name: "Invented shop" }).waitFor();
    const { car } = await carWith("WARN-1", "demo-pretreat", 12);
    // Its window shuts within three minutes: cover it now.
    const notice = page.locator(".notice-strip", { hasText: "Van WARN-1" });
    await notice.waitFor({ timeout: 30_000 });
    await picture(page, "notice-phone");
    await wall.page
      .getByText(/Van WARN-1.*cover with surfacer by/)
      .first()
      .waitFor();
    await page.goto(`${program.address}/warnings`);
    const card = page.locator(".warning-card", { hasText: "Van WARN-1" });
    await card.getByRole("button", { name: words.t("warnings.answer") }).tap();
    await tap(words.t("warnings.done-coated"));
    await page.getByText(words.t("queue.said-sent")).waitFor();
    await expect.poll(() => card.count()).toBe(0);
    await expect.poll(() => wall.page.locator(".warning", { hasText: "Van WARN-1" }).count()).toBe(0);
    await program.send("POST", `/api/cars/${car}/coats`, { panels: ["bonnet"], sheet: "demo-surfacer" });
    await expect
      .poll(async () => warningsSchema.parse(await program.get("/api/warnings")).ended, { timeout: 30_000 })
      .toContainEqual(
        expect.objectContaining({
          rule: "window-closing",
          carId: car,
          answer: expect.objectContaining({ who: "Installer A" }),
        }),
      );
  }, 120_000);
});

describe("a job card", () => {
  it("prints on one page, with the car's address as a code and in letters", async () => {
    const { car } = await carWith("CARD-1", null, 0);
    const { page } = await phone(`/cars/${car}/card`);
    await page.getByRole("heading", { name: "CARD-1" }).waitFor();
    await page.getByText(new RegExp(`/cars/${car}$`)).waitFor();
    const printed = (await page.pdf({ preferCSSPageSize: true })).toString("latin1");
    expect(printed.match(/\/Type\s*\/Page\b/g)).toHaveLength(1);
    expect(await axeFindings(page)).toEqual([]);
  });
});
