import { spawnSync } from "node:child_process";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { painter } from "../records/example-records.ts";
import { type CoatCertificate, certificateBytes, readCertificateFile } from "./certificate-file.ts";
import { type ExampleProof, exampleProof, finishMs, minuteMs, quality, sprayCheck } from "./example-certificates.ts";
import { printCertificate } from "./print-certificate.ts";

let shop: ExampleProof;
beforeEach(async () => {
  shop = await exampleProof();
});
afterEach(async () => {
  await shop.close();
});

/** Its pages as text, laid out as they are seen. */
function pagesOf(pdf: Buffer): string[] {
  const { stdout, stderr, status } = spawnSync("pdftotext", ["-layout", "-", "-"], { input: pdf, encoding: "utf8" });
  if (status !== 0 || stderr !== "") throw new Error(`pdftotext: ${status} ${stderr}`);
  return stdout.split("\f").slice(0, -1);
}

async function issued(coat: { id: string }): Promise<{ page: string; pdf: Buffer; digest: string }> {
  const digest = await shop.certificates.issueForCoat(coat.id, quality);
  const pdf = await shop.certificates.print(digest);
  const pages = pagesOf(pdf);
  expect(pages).toHaveLength(1);
  return { page: pages[0] ?? "", pdf, digest };
}

async function anotherShop(more: string): Promise<void> {
  await shop.close();
  shop = await exampleProof(more);
}

/** Cured in the booth, moved into the cold, with a gap there, checked, corrected, answered and released. */
async function wholeCoat() {
  const batches = [{ component: "paint", batch: "B-1207" }];
  const coat = shop.coat({ coat: { sprayCheck, batches, finishedAtMs: finishMs - 5 * minuteMs } });
  const { records } = shop;
  await shop.air("booth", -20, 60, () => 21);
  records.addMove(coat.carId, "yard", finishMs + 60 * minuteMs, painter);
  await shop.air("yard", 55, 100, () => 9);
  await shop.air("yard", 130, 180, () => 8);
  shop.at(180);
  records.correctCoat(coat.id, { reason: "read the wrong clock", finishedAtMs: finishMs, filmUm: 60 }, painter);
  const check = { coatId: coat.id, stage: "demask", how: "thumb" } as const;
  records.addCheck({ ...check, atMs: finishMs + 38 * minuteMs, ready: false }, painter);
  records.addCheck({ ...check, atMs: finishMs + 50 * minuteMs, ready: true }, painter);
  records.answerDeviation(coat.id, "gap", "the link was out", quality);
  records.signOff(coat.id, "Released for delivery", quality);
  return coat;
}

describe("a printed certificate", () => {
  it("is one page with all that a reader asks for", async () => {
    const coat = await wholeCoat();
    const { page, digest } = await issued(coat);
    const head = shop.records.entriesOf({ coatId: coat.id }).at(-2);
    for (const said of [
      /Invented Body Works \(invented shop\)/,
      /J-1 · Grey van/,
      /Invented air-dry clear \(invented material\), revision/,
      /2, clearcoat/,
      /60 µm dry, as entered/,
      /2 parts, 1 hardener/,
      /paint B-1207/,
      /Released by an invented inspector, quality lead, 2 Mar 2026 13:00: Released for delivery/,
      /humidity +73 % +at most 75 % +inside, close/,
      /panel temperature +– +15 °C to 32 °C +not measured/,
      /unmask +10:\d\d +10:\d\d +10:50 +10:38/,
      /air temperature +8 °C +1\d(\.\d)? °C +21 °C +\d+ min/,
      /no reading/,
      /No reading for 30 min in all\. – the link was out \(an invented inspector/,
      /It dried outside the limits: air temperature for \d+ min.*not answered/,
      /The panel's temperature was not measured all the time/,
      /finish: 2 Mar 2026 09:55 became 2 Mar 2026 10:00\. read the wrong clock/,
      /film build: not entered became 60 µm/,
      /does not prove that the film is free of isocyanate/,
      /npm run -s verify -- FILE/,
      new RegExp(`SHA-256 of the file: ${digest}`),
      new RegExp(`Log up to entry ${head?.seq}: ${head?.hash}`),
      new RegExp(`http://shop.local:8080/log/${coat.id}`),
    ]) {
      expect(page).toMatch(said);
    }
    expect(page).not.toContain("Letters that this page's type lacks");
  });

  it("has the same bytes for the same file", async () => {
    const { pdf, digest } = await issued(await wholeCoat());
    const again = await printCertificate(shop.certificates.file(digest));
    expect(again.equals(pdf)).toBe(true);
  });

  it("is in the shop's language, and in its units and clock", async () => {
    await anotherShop("language: de");
    const german = (await issued(await wholeCoat())).page;
    expect(german).toMatch(/Freigegeben von an invented inspector, Qualität, 2\. März 2026 13:00/);
    expect(german).toMatch(/Lufttemperatur +21,2 °C +15 °C bis 32 °C +innen/);
    expect(german).toContain("Es beweist nicht, dass der Film frei von Isocyanat ist.");
    expect(german).toContain("Motorhaube");
    expect(german).toContain("schraffiert = keine Messwerte");
    await anotherShop("language: en, units: { temperature: F, clock: 12h }");
    const american = (await issued(await wholeCoat())).page;
    expect(american).toMatch(/air temperature +70\.2 °F +59 °F to 89\.6 °F/);
    expect(american).toMatch(/dew-point margin +9\.7 °F/);
    expect(american).toMatch(/Issued 2 Mar 2026 1:00 pm/);
  });

  it("cuts what is long, and says how much stands in the file", async () => {
    const long = "a very long name that goes on and on ".repeat(8).trim();
    const batches = Array.from({ length: 30 }, (_, n) => ({ component: `component ${n}`, batch: "B".repeat(40) }));
    const coat = shop.coat({ job: "J-".padEnd(60, "9"), car: long, coat: { sprayCheck, batches } });
    await shop.air("booth", -5, 60, () => 12);
    shop.at(60);
    for (let n = 0; n < 40; n++) {
      shop.records.correctCoat(coat.id, { reason: `${n} ${long}`, filmUm: 50 + n }, painter);
      shop.records.answerDeviation(coat.id, "dried-outside-limits", `answer ${n}: ${long}`, quality);
      shop.records.signOff(coat.id, `signature ${n}`, quality);
    }
    const { page } = await issued(coat);
    const more = [...page.matchAll(/and (\d+) more, in the file/g)].map(([, count]) => Number(count));
    expect(more).toHaveLength(3);
    for (const count of more) expect(count).toBeGreaterThan(30);
    expect(page).toContain("signature 39");
    expect(page).toContain("does not prove that the film is free of isocyanate");
    expect(page).toMatch(/J-99999+ · a very long name/);
  });

  it("shows names in letters that its type lacks, and says so", async () => {
    const { page, pdf } = await issued(shop.coat({ job: "Ж-1", car: "Şahin 車 🚗 Łódź – größer" }));
    expect(page).toContain("?-1 · Sahin ? ? ?ódz – größer");
    expect(page).toContain("Letters that this page's type lacks are shown plain or as ?");
    expect(pdf.length).toBeGreaterThan(1000);
  });

  it("says plainly what is not known: no readings, no limits, a coat withdrawn", async () => {
    const coat = shop.coat();
    shop.at(40);
    expect((await issued(coat)).page).toMatch(/Neither released nor held/);
    shop.records.withdrawCoat(coat.id, "wrong car", painter);
    const { page } = await issued(coat);
    expect(page).toMatch(/Withdrawn by an invented painter, .*as entered by mistake: wrong car/);
    expect(page).toContain("No reading: nothing is known of the air this coat had.");
    expect(page).toContain("The limits at the finish are not known.");
    expect(page).toContain("Without readings at its finish nobody knows how far it cured.");
  });

  it("of a car is a page that sums up, and one for each coat", async () => {
    const { carId } = await wholeCoat();
    const roof = { panels: ["roof"], sheetId: "demo-surfacer", finishedAtMs: finishMs, filmUm: null };
    shop.records.addCoats(carId, { ...roof, panelAtFinishC: null, batches: [], sprayCheck: null }, painter);
    const pages = pagesOf(await shop.certificates.print(await shop.certificates.issueForCar(carId, quality)));
    expect(pages).toHaveLength(3);
    expect(pages[0]).toMatch(/Car certificate[\s\S]*2 coats, a page each[\s\S]*bonnet[\s\S]*roof/);
    expect(pages[0]).toMatch(/2 deviations, 1 not answered/);
    expect(pages[0]).toContain(`http://shop.local:8080/cars/${carId}`);
    expect(pages[2]).toContain("roof (steel)");
  });

  it("of a car with many coats stays a page each", async () => {
    const digest = await shop.certificates.issueForCoat((await wholeCoat()).id, quality);
    const read = readCertificateFile(JSON.parse(shop.certificates.file(digest).toString()));
    const one = ("file" in read ? read.file : null) as CoatCertificate;
    const { shop: of, car, issuedAt } = one;
    const coats = Array.from({ length: 30 }, () => one);
    const file = { format: "coatclock car certificate", version: 1, issuedAt, shop: of, car, coats } as const;
    const pages = pagesOf(await printCertificate(certificateBytes(file)));
    expect(pages).toHaveLength(31);
    expect(pages[0]).toMatch(/and \d+ more, in the file/);
  });

  it("is not made of what is no certificate", async () => {
    await expect(printCertificate(Buffer.from("{}"))).rejects.toThrow(/no certificate/);
  });
});
