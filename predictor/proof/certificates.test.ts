import { chmodSync, existsSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { runCase } from "../cure/case.ts";
import { painter } from "../records/example-records.ts";
import { canonical, hashOf } from "../records/log.ts";
import { type CarCertificate, type CoatCertificate, readCertificateFile } from "./certificate-file.ts";
import { certificatesFolderName } from "./certificates.ts";
import { type ExampleProof, exampleProof, finishMs, minuteMs, quality, sprayCheck } from "./example-certificates.ts";

let shop: ExampleProof;
beforeEach(async () => {
  shop = await exampleProof();
});
afterEach(async () => {
  await shop.close();
});

function fileOf(digest: string): CoatCertificate {
  const read = readCertificateFile(JSON.parse(shop.certificates.file(digest).toString()));
  if ("faults" in read) throw new Error(JSON.stringify(read.faults));
  return read.file as CoatCertificate;
}
const digestsInLog = () =>
  shop.records
    .carsHere()
    .flatMap(({ id }) =>
      shop.records
        .entriesOf({ carId: id })
        .flatMap(({ kind, what }) => (kind === "certificate-issued" ? [what.digest] : [])),
    );

describe("a certificate of a coat", () => {
  it("is kept byte for byte under its digest, which an entry of the log names", async () => {
    const coat = shop.coat();
    await shop.air("booth", -5, 30, () => 20);
    shop.at(30);
    const digest = await shop.certificates.issueForCoat(coat.id, quality);
    expect(hashOf(shop.certificates.file(digest))).toBe(digest);
    expect(readdirSync(join(shop.folder, certificatesFolderName))).toEqual([`${digest}.json`]);
    expect(shop.records.certificate(digest)).toMatchObject({ coatIds: [coat.id], who: quality.who });
    expect(shop.certificates.nameOf(digest)).toBe(`certificate-J-1-bonnet-${digest.slice(0, 8)}`);
  });

  it("holds a case from which the same outcome follows, on the way and after a move, a gap, a check and a forecast", async () => {
    const coat = shop.coat({ coat: { sprayCheck } });
    const issue = async () => fileOf(await shop.certificates.issueForCoat(coat.id, quality));
    await shop.air("booth", -5, 20, (minute) => 21 + Math.sin(minute));
    shop.at(20.5);
    const early = await issue();
    shop.records.addMove(coat.carId, "yard", finishMs + 25 * minuteMs, painter);
    await shop.air("yard", 20, 40, () => 8);
    await shop.air("yard", 70, 90, () => 7);
    shop.at(90);
    const check = {
      coatId: coat.id,
      stage: "demask",
      atMs: finishMs + 80 * minuteMs,
      ready: false,
      how: "thumb",
    } as const;
    shop.records.addCheck(check, painter);
    const late = await issue();
    for (const certificate of [early, late]) {
      expect(runCase(certificate.case)).toEqual({ result: certificate.outcome });
      expect(certificate.case.coldEnergyKJ).toBe(10);
      expect(certificate.case.ahead?.likely.length).toBeGreaterThan(10);
    }
    const { outcome } = await shop.follow.coat(coat.id);
    expect(late.outcome.stages.map(({ safeAt }) => safeAt && Date.parse(safeAt))).toEqual(
      outcome.stages.map(({ safeAtMs }) => safeAtMs && Math.floor(safeAtMs)),
    );
    expect(late.case).toMatchObject({ keepsToSheet: true, rateFactor: expect.any(Number) });
    expect(early.case).not.toHaveProperty("rateFactor");
    expect(late.deviations.map(({ code }) => code)).toContain("gap");
    expect(late.notes.map(({ code }) => code)).toEqual(expect.arrayContaining(["gap", "panel-estimated"]));
    expect(late.moves.map(({ place }) => place)).toEqual(["booth", "yard"]);
    expect(late.places.yard).toEqual({
      name: "Yard",
      sensors: { "air-temperature": "pi/yard", "air-humidity": "pi/yard" },
    });
  });

  it("holds the entries about the coat and its car, each with the hash that its text has, and none about another coat", async () => {
    const coat = shop.coat();
    const roof = { panels: ["roof"], sheetId: "demo-clear", finishedAtMs: finishMs + minuteMs, filmUm: null };
    shop.records.addCoats(coat.carId, { ...roof, panelAtFinishC: null, batches: [], sprayCheck: null }, painter);
    shop.records.promise(coat.carId, finishMs + 600 * minuteMs, painter);
    shop.records.answerDeviation(coat.id, "limits-not-judged", "hygrometer on the wall: 55 %", quality);
    shop.at(5);
    const { entries, head } = fileOf(await shop.certificates.issueForCoat(coat.id, quality));
    expect(entries.map(({ kind }) => kind)).toEqual(["car-came", "coats-finished", "promised", "deviation-answered"]);
    for (const { hash, ...content } of entries) expect(hashOf(canonical(content))).toBe(hash);
    expect(head.seq).toBe(entries.at(-1)?.seq);
  });

  it("goes without readings, and of a withdrawn coat, and says so", async () => {
    const coat = shop.coat();
    shop.at(40);
    const bare = fileOf(await shop.certificates.issueForCoat(coat.id, quality));
    expect(bare.case.readings).toEqual([]);
    expect(bare.outcome.notes).toMatchObject([{ code: "no-readings" }]);
    expect(bare.deviations.map(({ code }) => code)).toEqual(["limits-not-judged", "no-prediction", "gap"]);
    expect(runCase(bare.case)).toEqual({ result: bare.outcome });
    shop.records.withdrawCoat(coat.id, "wrong car", painter);
    const withdrawn = fileOf(await shop.certificates.issueForCoat(coat.id, quality));
    expect(withdrawn.coat.withdrawn).toMatchObject({ reason: "wrong car", who: painter.who });
  });

  it("of a car that left is as of then", async () => {
    const coat = shop.coat();
    await shop.air("booth", -5, 200, () => 20);
    shop.records.addMove(coat.carId, null, finishMs + 100 * minuteMs, painter);
    shop.at(5000);
    const certificate = fileOf(await shop.certificates.issueForCoat(coat.id, quality));
    expect(certificate.outcome.asOf).toBe("2026-03-02T10:40:00.000Z");
    expect(certificate.case.readings.at(-1)?.at).toBe("2026-03-02T10:39:00.000Z");
    expect(certificate.case).not.toHaveProperty("ahead");
    expect(certificate.notes).toEqual([]);
  });

  it("is given again when the readings are gone, and refused when it was lost or damaged", async () => {
    const coat = shop.coat();
    await shop.air("booth", -5, 30, () => 20);
    shop.at(30);
    const digest = await shop.certificates.issueForCoat(coat.id, quality);
    const db = new Database(shop.files.readings);
    db.exec("DELETE FROM readings");
    db.close();
    expect(fileOf(digest).case.readings).toHaveLength(31);
    const path = join(shop.folder, certificatesFolderName, `${digest}.json`);
    writeFileSync(path, `${shop.certificates.file(digest)} `);
    expect(() => shop.certificates.file(digest)).toThrow(/not as it was issued/);
    rmSync(path);
    expect(() => shop.certificates.file(digest)).toThrow(/not in the data folder/);
    expect(() => shop.certificates.file("0".repeat(64))).toThrow(/No certificate 0+ was issued here/);
  });

  it("is not entered where its file can't be kept, nor for a coat that there is not", async () => {
    const coat = shop.coat();
    shop.at(1);
    writeFileSync(join(shop.folder, certificatesFolderName), "in the way");
    await expect(shop.certificates.issueForCoat(coat.id, quality)).rejects.toThrow(/EEXIST|ENOTDIR/);
    await expect(shop.certificates.issueForCoat("none", quality)).rejects.toThrow("There is no coat none.");
    expect(digestsInLog()).toEqual([]);
    chmodSync(join(shop.folder, certificatesFolderName), 0o600);
    expect(existsSync(join(shop.folder, certificatesFolderName, "x"))).toBe(false);
  });

  it("is refused while a reading comes between its readings and its outcome", async () => {
    const coat = shop.coat();
    shop.records.addMove(coat.carId, "yard", finishMs + 5 * minuteMs, painter);
    await shop.air("booth", -5, 5, () => 20);
    await shop.air("yard", 0, 30, () => 20);
    shop.at(30);
    await shop.follow.coat(coat.id);
    const { range } = shop.store;
    // A late reading reaches the store after the coat was followed and before its history is read.
    shop.store.range = async (...asked) => {
      shop.store.range = range;
      const late = {
        collector: "pi",
        sensor: "yard",
        quantity: "air-temperature",
        atMs: finishMs + 29.5 * minuteMs,
        value: 35,
      } as const;
      await shop.store.append([late]);
      return range(...asked);
    };
    await expect(shop.certificates.issueForCoat(coat.id, quality)).rejects.toThrow(/Ask for it again/);
    expect(digestsInLog()).toEqual([]);
  });
});

describe("a certificate of a car", () => {
  it("holds the files of its coats that count", async () => {
    const coat = shop.coat();
    const car = shop.records.car(coat.carId);
    const more = {
      panels: ["roof"],
      sheetId: "demo-clear",
      finishedAtMs: finishMs,
      filmUm: null,
      panelAtFinishC: null,
    };
    const [roof] = shop.records.addCoats(car.id, { ...more, batches: [], sprayCheck: null }, painter);
    await shop.air("booth", -5, 30, () => 20);
    shop.at(30);
    const digest = await shop.certificates.issueForCar(car.id, quality);
    const file = fileOf(digest) as unknown as CarCertificate;
    expect(file.coats.map((each) => each.coat.id)).toEqual([coat.id, roof?.id]);
    expect(shop.records.certificate(digest)?.coatIds).toEqual([coat.id, roof?.id]);
    for (const each of file.coats) expect(runCase(each.case)).toEqual({ result: each.outcome });
    for (const { id } of shop.records.coatsOf(car.id)) shop.records.withdrawCoat(id, "wrong car", painter);
    await expect(shop.certificates.issueForCar(car.id, quality)).rejects.toThrow("No coat of job J-1 counts");
  });
});
