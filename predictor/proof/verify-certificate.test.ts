import { rmSync } from "node:fs";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { runCase } from "../cure/case.ts";
import { painter } from "../records/example-records.ts";
import { canonical } from "../records/log.ts";
import type { CoatCertificate } from "./certificate-file.ts";
import { type ExampleProof, exampleProof, finishMs, minuteMs, quality } from "./example-certificates.ts";
import { type Finding, verifyCertificate } from "./verify-certificate.ts";

let shop: ExampleProof;
let coatId: string;
let bytes: Buffer;
beforeEach(async () => {
  shop = await exampleProof();
  const coat = shop.coat();
  coatId = coat.id;
  await shop.air("booth", -15, 30, (minute) => 20 + minute / 60);
  shop.records.addMove(coat.carId, "yard", finishMs + 30 * minuteMs, painter);
  await shop.air("yard", 25, 60, () => 10);
  shop.at(60);
  shop.records.signOff(coat.id, "released", quality);
  bytes = shop.certificates.file(await shop.certificates.issueForCoat(coat.id, quality));
});
afterEach(async () => {
  await shop.close();
});

const verify = (file: Uint8Array = bytes, files = shop.files) => verifyCertificate(file, files);
const faultsOf = (findings: Finding[]) => findings.filter(({ isSound }) => !isSound).map(({ check }) => check);
/** The certificate with something changed in it, and written again. */
function changed(change: (file: CoatCertificate) => void): Buffer {
  const file = JSON.parse(bytes.toString()) as CoatCertificate;
  change(file);
  return Buffer.from(canonical(file));
}
const textOf = (findings: Finding[], check: Finding["check"]) =>
  findings
    .filter((finding) => finding.check === check)
    .map(({ text }) => text)
    .join("; ");

describe("verifying a certificate", () => {
  it("finds it sound while the program has the files open, and says how many readings it compared", async () => {
    const findings = await verify();
    expect(faultsOf(findings)).toEqual([]);
    expect(new Set(findings.map(({ check }) => check))).toEqual(
      new Set(["digest", "chain", "entries", "sheet", "readings", "outcome"]),
    );
    const total = (JSON.parse(bytes.toString()) as CoatCertificate).case.readings.length;
    expect(textOf(findings, "readings")).toContain(`${total} of ${total} readings could be compared`);
  });

  it("finds a car's certificate sound, each coat by itself", async () => {
    const { carId } = shop.records.coat(coatId);
    const plain = { filmUm: null, panelAtFinishC: null, batches: [], sprayCheck: null };
    shop.records.addCoats(
      carId,
      { panels: ["roof"], sheetId: "demo-clear", finishedAtMs: finishMs, ...plain },
      painter,
    );
    const findings = await verify(shop.certificates.file(await shop.certificates.issueForCar(carId, quality)));
    expect(faultsOf(findings)).toEqual([]);
    expect(findings.filter(({ check, text }) => check === "outcome" && /^(bonnet|roof): /.test(text))).toHaveLength(2);
  });

  it("compares what the store still has, and no more", async () => {
    const db = new Database(shop.files.readings);
    db.prepare("DELETE FROM readings WHERE at_ms < ?").run(finishMs + 40 * minuteMs);
    db.close();
    const part = await verify();
    expect(faultsOf(part)).toEqual([]);
    expect(textOf(part, "readings")).toMatch(/: 21 of \d+ readings could be compared/);
    const nowhere = { ...shop.files, readings: `${shop.files.readings}-none` };
    expect(textOf(await verify(bytes, nowhere), "readings")).toMatch(/: 0 of \d+ readings .* there is no store here/);
  });

  it("tells of readings that came after it was issued, and does not mind them", async () => {
    const of = { collector: "pi", sensor: "air", quantity: "air-temperature", value: 20 } as const;
    await shop.store.append([{ ...of, atMs: finishMs + 10.5 * minuteMs }]);
    const findings = await verify();
    expect(faultsOf(findings)).toEqual([]);
    expect(textOf(findings, "readings")).toContain("the store has 1 more of that time");
  });

  it.each(Array.from({ length: 12 }, (_, index) => index / 12))(
    "fails on a byte changed at %f of it",
    async (share) => {
      const copy = Buffer.from(bytes);
      const at = Math.floor(share * bytes.length);
      copy[at] = (copy[at] as number) ^ 1;
      const findings = await verify(copy);
      expect(faultsOf(findings)).toContain("digest");
    },
  );

  it("says of one that was only written anew that the content is the same", async () => {
    const spaced = Buffer.from(JSON.stringify(JSON.parse(bytes.toString()), null, 2));
    const findings = await verify(spaced);
    expect(faultsOf(findings)).toEqual(["digest"]);
    expect(textOf(findings, "digest")).toContain("written anew");
  });

  it("finds a changed reading by the store and by the outcome, the digest aside", async () => {
    const warmer = changed(({ case: { readings } }) => {
      const reading = readings[9];
      if (reading !== undefined) reading.panelC = 35;
    });
    const findings = await verify(warmer);
    expect(faultsOf(findings)).toEqual(["digest", "readings", "outcome"]);
    expect(textOf(findings, "digest")).toContain("a byte was changed");
    expect(textOf(findings, "readings")).toMatch(/the reading at 2026-03-02T09:09:00.000Z is .*35.*; the store has/);
  });

  it("finds it by the store alone where the outcome was reckoned anew to fit, and where a reading was put in", async () => {
    const fitted = (change: (file: CoatCertificate) => void) =>
      changed((file) => {
        change(file);
        const again = runCase(file.case);
        if ("result" in again) file.outcome = again.result;
      });
    const warmer = fitted(({ case: { readings } }) => {
      for (const reading of readings) reading.airC += 5;
    });
    expect(faultsOf(await verify(warmer))).toEqual(["digest", "readings"]);
    const more = fitted(({ case: { readings } }) => {
      const reading = readings[9];
      if (reading !== undefined) readings.splice(10, 0, { ...reading, at: "2026-03-02T09:09:30.000Z", airC: 40 });
    });
    expect(faultsOf(await verify(more))).toEqual(["digest", "readings"]);
  });

  it.each<[string, string, (file: CoatCertificate) => void]>([
    ["an entry's text", "entries", ({ entries }) => Object.assign(entries[1] ?? {}, { who: "someone else" })],
    ["an entry left out", "entries", ({ entries }) => entries.splice(1, 1)],
    ["the head", "chain", ({ head }) => Object.assign(head, { hash: "0".repeat(64) })],
    ["the sheet", "sheet", (file) => Object.assign(file.case.sheet, { name: "Another" })],
    ["the outcome", "outcome", ({ outcome }) => Object.assign(outcome, { curePercent: 99 })],
  ])("finds %s changed by the check of the %s", async (_, check, change) => {
    expect(faultsOf(await verify(changed(change)))).toEqual(["digest", check]);
  });

  it("fails on a foreign log, which holds no such certificate", async () => {
    const other = await exampleProof();
    try {
      other.coat();
      const findings = await verify(bytes, other.files);
      expect(faultsOf(findings)).toEqual(expect.arrayContaining(["digest", "chain", "entries"]));
      expect(textOf(findings, "digest")).toBe("this log holds no such certificate");
    } finally {
      await other.close();
    }
  });

  it("fails on a log that was changed beneath it", async () => {
    const db = new Database(shop.files.records);
    db.exec("DROP TRIGGER log_is_not_changed");
    db.exec("UPDATE log SET entry = replace(entry, 'Grey van', 'Blue van')");
    db.close();
    expect(faultsOf(await verify())).toContain("chain");
  });

  it("says of what is no certificate that it is none, and throws without records", async () => {
    expect(faultsOf(await verify(Buffer.from("{}")))).toEqual(["form", "digest"]);
    expect(faultsOf(await verify(Buffer.from("no JSON")))).toEqual(["form", "digest"]);
    rmSync(shop.files.readings, { force: true });
    await expect(verify(bytes, { ...shop.files, records: `${shop.files.records}-none` })).rejects.toThrow();
  });
});
