import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import Database from "better-sqlite3";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { type Sheet, stageNames } from "../cure/sheet.ts";
import { exampleRecords, painter, plainCoat } from "./example-records.ts";
import { RecordFault } from "./record-fault.ts";
import type { By, Records } from "./records.ts";
import { rebuild, verify } from "./verify.ts";

let folder: string;
let runs = 0;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-projections-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const substrates = ["steel", "aluminium", "plastic"] as const;
const panelNames = ["bonnet", "roof", "door", "bumper"];
const sheetIds = ["demo-clear", "demo-surfacer", "demo-sealer", "demo-pretreat", "none"];
const inspector: By = { who: "an invented inspector", role: "quality" };
const warningIds = ["w1", "w2", "w3"];

/** One thing that somebody enters; `n` and `m` pick what it is about, `t` when. Much of it does not fit, and is refused. */
const entries: readonly ((records: Records, n: number, m: number, t: number) => unknown)[] = [
  (records, n, m, t) => {
    const panels = panelNames
      .slice(0, 1 + (n % 4))
      .map((name, at) => ({ name, substrate: substrates[(m + at) % 3] ?? "steel" }));
    const promisedAtMs = m % 3 === 0 ? t + n : null;
    return records.addCar(
      { job: `J-${n}`, name: "Ünvented €", panels, place: "booth", promisedAtMs, atMs: t % 500 },
      painter,
    );
  },
  (records, n, m) =>
    records.addPanels(carOf(records, n), [{ name: panelNames[m % 4] ?? "", substrate: "steel" }], painter),
  (records, n, m, t) => records.promise(carOf(records, n), m % 4 === 0 ? null : t, painter),
  (records, n, m, t) => records.addMove(carOf(records, n), m % 9 === 0 ? null : `place-${m}`, t, painter),
  (records, n, m, t) => {
    const { id, moves } = records.car(carOf(records, n));
    const was = moves[m % moves.length]?.atMs ?? 0;
    return records.correctMove(
      id,
      was,
      { place: `other-${m}`, ...(m % 2 === 0 ? { atMs: t } : {}), reason: "slip" },
      painter,
    );
  },
  ...Array.from({ length: 3 }, () => (records: Records, n: number, m: number, t: number) => {
    const panels = [panelNames[m % 4] ?? "", panelNames[(m + 1) % 4] ?? ""];
    const made = {
      finishedAtMs: t,
      filmUm: m % 2 === 0 ? null : 40 + m / 7,
      panelAtFinishC: m % 3 === 0 ? 20.5 : null,
    };
    const batches = [{ component: "hardener", batch: `H-${m}` }];
    return records.addCoats(
      carOf(records, n),
      { ...plainCoat, ...made, panels, sheetId: sheetIds[m % 5] ?? "", batches },
      painter,
    );
  }),
  (records, n, m, t) => {
    const what = [
      { finishedAtMs: t },
      { filmUm: 1 + m / 3 },
      { sheetId: sheetIds[m % 5] },
      { finishedAtMs: t, filmUm: 9 },
    ];
    return records.correctCoat(coatOf(records, n, m), { reason: "slip", ...what[m % 4] }, painter);
  },
  (records, n, m) => records.withdrawCoat(coatOf(records, n, m), "slip", painter),
  ...Array.from({ length: 2 }, () => (records: Records, n: number, m: number, t: number) => {
    const stage = stageNames[m % stageNames.length] ?? "demask";
    const check = { coatId: coatOf(records, n, m), stage, atMs: t, ready: m % 2 === 0, how: "thumb" as const };
    return records.addCheck({ ...check, ...(m % 3 === 0 ? { note: `note ${m}` } : {}) }, painter);
  }),
  (records, n, m) => {
    const checks = records.checksOf(coatOf(records, n, m));
    return records.withdrawCheck(checks[m % Math.max(1, checks.length)]?.id ?? "none", "slip", painter);
  },
  (records, n, m) => {
    const coat = coatOf(records, n, m);
    if (n % 5 === 0) return records.hold(coat, `reason ${m}`, inspector);
    if (n % 5 === 1) return records.reopen(coat, `reason ${m}`, inspector);
    if (n % 5 === 2) return records.answerDeviation(coat, "gap", `answer ${m}`, inspector);
    if (n % 5 === 3) return records.issueCertificate(carOf(records, n), [coat], `${m % 10}`.repeat(64), inspector);
    return records.signOff(coat, `meaning ${m}`, inspector);
  },
  (records, n, m) => {
    const sheet = records.sheets()[m % records.sheets().length] as Sheet;
    const revision = sheet.revision + 1;
    if (n % 2 === 0) return records.keepSheet({ ...sheet, revision, name: `Name ${m}` }, inspector);
    return records.approveSheet(sheet.id, revision, inspector);
  },
  (records, n, m, t) => {
    const litres = n % 2 === 0 ? null : n / 10;
    return records.addMix(
      { sheetId: sheetIds[m % 5] ?? "", place: "mixing", mixedAtMs: t, litres, batches: [] },
      painter,
    );
  },
  (records, n, _, t) => {
    const mixes = records.openMixes();
    return records.emptyMix(mixes[n % Math.max(1, mixes.length)]?.id ?? "none", t, painter);
  },
  (records, n, m, t) => {
    const id = warningIds[m % 3] ?? "";
    const raised = { id, rule: "cold", place: "booth", coatId: null, carId: null, urgency: "soon", said: "cold" };
    if (n % 4 === 0)
      return records.addWarningEvent({ event: "raised", ...raised, text: text("band.no-reading") }, painter);
    if (n % 4 === 1) return records.addWarningEvent({ event: "answered", id, done: "shut the gate" }, painter);
    if (n % 4 === 2) return records.addWarningEvent({ event: "set aside", id, untilMs: t, reason: "heating" }, painter);
    return records.addWarningEvent({ event: "ended", id }, painter);
  },
  (records, n, m) => {
    const line = { collector: "pi", sensor: `sensor-${n % 2}`, quantity: "air-humidity" } as const;
    const calibrated = m % 2 === 0 ? null : "2026-03-02";
    return records.setInstrument(line, { slope: 1, offset: m % 3, calibrated, due: null, reference: null }, painter);
  },
  (records, n) => records.addPersonEvent({ event: "changed", name: `Person ${n}`, change: "now quality" }, painter),
];

const carOf = (records: Records, n: number): string => {
  const cars = records.carsHere();
  return cars[n % Math.max(1, cars.length)]?.id ?? "none";
};
const coatOf = (records: Records, n: number, m: number): string => {
  const coats = carOf(records, n) === "none" ? [] : records.coatsOf(carOf(records, n));
  return coats[m % Math.max(1, coats.length)]?.id ?? "none";
};

/** All that the records answer. */
function answers(records: Records, carIds: readonly string[], coatIds: readonly string[]) {
  return {
    sheets: [records.sheets(), records.keptSheets()],
    here: records.carsHere(),
    cars: carIds.map((id) => [records.car(id), records.coatsOf(id), records.entriesOf({ carId: id })]),
    coats: coatIds.map((id) => [
      ...[records.coat(id), records.corrections(id), records.checksOf(id), records.signOffs(id)],
      records.deviationAnswers(id),
      records.checksOfSheet(records.coat(id).sheetId, records.coat(id).sheetRevision),
    ]),
    mixes: records.openMixes(),
    warnings: [records.warningsOpen(), records.warningsEnded(0)],
    instruments: records.instruments(),
    head: records.head(),
  };
}

/** Enters what was drawn; says which cars and coats came of it and how many entries were taken. */
function enter(records: Records, drawn: readonly [entry: number, n: number, m: number, t: number][]) {
  const carIds = new Set<string>();
  const coatIds = new Set<string>();
  let taken = 0;
  for (const [entry, n, m, t] of drawn) {
    try {
      entries[entry % entries.length]?.(records, n, m, t);
      taken += 1;
    } catch (error) {
      if (!(error instanceof RecordFault)) throw error;
    }
    for (const { id } of records.carsHere()) {
      carIds.add(id);
      for (const coat of records.coatsOf(id)) coatIds.add(coat.id);
    }
  }
  return { carIds: [...carIds], coatIds: [...coatIds], taken };
}

const drawn = fc.array(fc.tuple(fc.nat(entries.length - 1), fc.nat(12), fc.nat(40), fc.nat(5_000)), {
  minLength: 20,
  maxLength: 60,
});

describe("whatever is entered", () => {
  it("the tables are what the log says, and tables made anew from it answer everything alike", () => {
    let allTaken = 0;
    let coats = 0;
    fc.assert(
      fc.property(drawn, (list) => {
        runs += 1;
        const file = join(folder, `records-${runs}.db`);
        let nowMs = 0;
        const open = () => exampleRecords({ file, now: () => (nowMs += 7) });
        const records = open();
        // A car to begin with: else most of what is drawn is about nothing.
        const { carIds, coatIds, taken } = enter(records, [[0, 3, 0, 0], ...list]);
        allTaken += taken;
        coats += coatIds.length;
        const before = answers(records, carIds, coatIds);
        records.close();
        expect(verify(file)).toMatchObject({ faults: [], entries: before.head?.seq });

        const db = new Database(file);
        db.exec("PRAGMA foreign_keys = OFF; DELETE FROM checks; DELETE FROM coats; UPDATE cars SET name = 'other'");
        db.close();
        expect(verify(file).faults).not.toEqual([]);
        rebuild(file, nowMs);
        expect(verify(file).faults).toEqual([]);
        const again = open();
        expect(answers(again, carIds, coatIds)).toEqual(before);
        again.close();
      }),
      { numRuns: 20 },
    );
    // Else nothing came of what was drawn, and this shows nothing.
    expect(allTaken).toBeGreaterThan(200);
    expect(coats).toBeGreaterThan(20);
  }, 120_000);
});
