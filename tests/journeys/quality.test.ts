/** The quality lead's whole way with the running program: find, read, correct, answer, release, certify, verify. */
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import { axeFindings, openBrowser, wallSize } from "./browser.ts";
import { type Air, airOf, minuteMs, openPhone, type Phone, shopFileOf, signInBy, wordsIn } from "./phone-hands.ts";
import { type Program, pin, startProgram } from "./program.ts";

const compiled = resolve(import.meta.dirname, "../../dist/predictor");
const words = wordsIn("en");
let program: Program;
let browser: Browser;
let air: Air;
let desk: Phone;

beforeAll(async () => {
  program = await startProgram(shopFileOf("quality"));
  air = await airOf(program.broker, "quality");
  // Colder than the clear's sheet allows.
  await air.past(600, 13);
  await program.send("POST", "/api/people", { name: "Quality Q", role: "quality", pin });
  for (const [job, name, minutes] of [
    ["Q-1", "Green estate", 560],
    ["Q-2", "Red coupe", 550],
  ] as const) {
    const at = (ago: number) => new Date(Date.now() - ago * minuteMs).toISOString();
    const panels = [{ name: "bonnet" }];
    const car = await program.send("POST", "/api/cars", { job, name, place: "booth", panels, at: at(minutes) });
    const coat = { panels: ["bonnet"], sheet: "demo-clear", finishedAt: at(minutes - 10) };
    await program.send("POST", `/api/cars/${(car as { id: string }).id}/coats`, coat);
  }
  browser = await openBrowser();
  desk = await openPhone(browser, program.address, wallSize);
  await signInBy(desk, words, "Quality Q");
}, 120_000);
afterAll(async () => {
  await browser.close();
  await air.end();
  await program.stop();
});

const verify = (file: string) => {
  const args = [join(compiled, "verify-file.js"), file, "--data", join(program.folder, "data")];
  const { status, stdout } = spawnSync(process.execPath, args, { encoding: "utf8" });
  return { status, stdout };
};

async function download(name: string): Promise<string> {
  const { page } = desk;
  const coming = page.waitForEvent("download");
  await page.getByRole("link", { name, exact: true }).first().click();
  const file = join(program.folder, (await coming).suggestedFilename());
  await (await coming).saveAs(file);
  return file;
}

it("finds a coat, corrects it, answers for it, releases it and hands over a certificate that holds", async () => {
  const { page } = desk;
  await page.goto(`${program.address}/log?car=green`);
  const rows = page.locator("tbody tr");
  await expect.poll(() => rows.count()).toBe(1);
  await page.getByRole("link", { name: "Green estate" }).click();
  await page.getByText(words.t("deviation.dried-outside-limits")).first().waitFor();
  await page.locator(".chart-plot canvas").waitFor();
  expect(await axeFindings(page)).toEqual([]);
  const address = page.url();

  // The finish is corrected where painters do it, and stands in the file with its reason.
  await page.getByRole("link", { name: words.t("file.correct") }).click();
  await desk.tap(words.t("coat.correct"));
  await page.locator(".when-picker > summary").click();
  const earlier = new Date(Date.now() - 555 * minuteMs).toISOString().slice(11, 16);
  await page.locator(".when-picker input[type=time]").fill(earlier);
  await page.getByRole("button", { name: words.t("reason.late-tap") }).click();
  await page.getByText(words.t("queue.said-sent")).waitFor();
  await page.goto(address);
  await page.getByText(/Corrected: .*→.* Reason: /).waitFor();

  const release = page.getByRole("button", { name: words.t("file.release"), exact: true });
  expect(await release.isDisabled()).toBe(true);
  for (const code of ["sprayed-outside-limits", "dried-outside-limits"] as const) {
    const name = words.t("file.answer-to", { deviation: words.t(`deviation.${code}`) });
    await page.getByLabel(name).fill("tape test passed; polished without a mark");
    await page
      .getByRole("button", { name: words.t("file.answer"), exact: true })
      .first()
      .click();
    await expect.poll(() => page.getByText("tape test passed").count()).toBeGreaterThan(0);
    await page.getByLabel(name).first().waitFor({ state: "hidden" });
  }
  await page.getByRole("button", { name: words.t("file.meaning-answered") }).click();
  await release.click();
  await page.getByText(words.t("file.reopen-open")).waitFor();

  await page.getByRole("button", { name: words.t("file.certificate-make") }).click();
  const file = await download(words.t("file.certificate-file"));
  const print = await download(words.t("file.certificate-print"));
  const pdf = spawnSync("pdftotext", ["-layout", print, "-"], { encoding: "utf8" }).stdout;
  expect(pdf).toMatch(/Released by Quality Q/);
  expect(pdf).toMatch(/tape test passed/);
  expect(spawnSync("pdfinfo", [print], { encoding: "utf8" }).stdout).toMatch(/Pages: +1\n/);
  expect(verify(file)).toMatchObject({ status: 0, stdout: expect.stringContaining("all is well") });
  writeFileSync(`${file}.changed`, readFileSync(file, "utf8").replace("Green estate", "Green Estate"));
  expect(verify(`${file}.changed`).status).toBe(3);

  await page.goto(`${program.address}/log?state=released`);
  await expect.poll(() => rows.count()).toBe(1);
  expect(desk.faults).toEqual([]);
});
