/** Takes over a file of the version before there was a log: what its tables held becomes entries, in order of time. */
import type Database from "better-sqlite3";
import type { Substrate } from "../cure/panel.ts";
import type { StageName } from "../cure/sheet.ts";
import type { CheckHow, Kind, What } from "./entry-kinds.ts";

/** An entry to be made, and where in time it belongs. */
export type Taken = { [K in Kind]: { kind: K; what: What<K>; orderMs: number } }[Kind];

const tables = ["mixes", "checks", "corrections", "coat_panels", "coats", "moves", "panels", "cars", "sheets"];

export function isFromBeforeLog(db: Database.Database): boolean {
  return has(db, "cars") && !has(db, "log");
}

function has(db: Database.Database, table: string): boolean {
  return db.prepare("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?").get(table) !== undefined;
}

/** Reads what the tables hold and removes them. An instant that they did not keep is that of the thing itself; a person, null. */
export function takeFromBeforeLog(db: Database.Database): Taken[] {
  const old = readTables(db);
  const cars = takeCars(old);
  const coats = takeCoats(old, cars.comings);
  const taken = [
    ...takeSheets(old),
    ...cars.taken,
    ...coats.taken,
    ...takeChecks(old, coats.finishes),
    ...takeMixes(old),
  ];
  for (const table of tables) db.exec(`DROP TABLE IF EXISTS ${table}`);
  // The sort is stable: of one instant, what others refer to comes first.
  return taken.sort((a, b) => a.orderMs - b.orderMs);
}

interface OldTables {
  sheets: { sheet: string }[];
  cars: { id: string; job: string; name: string }[];
  panels: { car_id: string; position: number; name: string; substrate: Substrate }[];
  moves: { car_id: string; at_ms: number; place: string | null }[];
  coats: OldCoat[];
  coat_panels: { coat_id: string; panel: string }[];
  corrections: OldCorrection[];
  checks: OldCheck[];
  mixes: OldMix[];
}
interface OldCoat {
  id: string;
  car_id: string;
  substrate: Substrate;
  sheet_id: string;
  sheet_revision: number;
  finished_at_ms: number;
  film_um: number | null;
  panel_at_finish_c: number | null;
}
interface OldCorrection {
  coat_id: string;
  at_ms: number;
  reason: string;
  field: "finishedAtMs" | "filmUm";
  was: number | null;
  became: number;
}
interface OldCheck {
  id: string;
  coat_id: string;
  stage: StageName;
  at_ms: number;
  ready: number;
  how: CheckHow;
  who: string;
  note: string | null;
  entered_at_ms: number;
  withdrawn_at_ms: number | null;
  withdrawn_reason: string | null;
  withdrawn_who: string | null;
}
interface OldMix {
  id: string;
  sheet_id: string;
  sheet_revision: number;
  place: string;
  mixed_at_ms: number;
  who: string | null;
  emptied_at_ms: number | null;
}

/** A table that is not there yet, as the first version had no checks and mixes, is empty. */
function readTables(db: Database.Database): OldTables {
  const rows = (table: string) => (has(db, table) ? db.prepare(`SELECT * FROM ${table} ORDER BY rowid`).all() : []);
  return Object.fromEntries(tables.map((table) => [table, rows(table)])) as unknown as OldTables;
}

function takeSheets({ sheets }: OldTables): Taken[] {
  return sheets.map(({ sheet }) => ({
    kind: "sheet-kept",
    what: { sheet: JSON.parse(sheet) },
    orderMs: Number.NEGATIVE_INFINITY,
  }));
}

function takeCars({ cars, panels, moves }: OldTables): { taken: Taken[]; comings: Map<string, number> } {
  const comings = new Map<string, number>();
  const taken = cars.flatMap(({ id: carId, job, name }): Taken[] => {
    const [arrival, ...others] = moves.filter((move) => move.car_id === carId).sort((a, b) => a.at_ms - b.at_ms);
    if (arrival === undefined || arrival.place === null) throw new Error(`car ${carId} never came to the shop`);
    comings.set(carId, arrival.at_ms);
    const ofCar = panels.filter((panel) => panel.car_id === carId).sort((a, b) => a.position - b.position);
    const came = {
      ...{ carId, job, name, colour: null, promisedAtMs: null, place: arrival.place, atMs: arrival.at_ms },
      panels: ofCar.map((panel) => ({ name: panel.name, substrate: panel.substrate })),
      before: { who: null, atMs: arrival.at_ms },
    };
    return [
      { kind: "car-came", what: came, orderMs: arrival.at_ms },
      ...others.map(({ place, at_ms: atMs }): Taken => {
        return { kind: "car-moved", what: { carId, place, atMs, before: { who: null, atMs } }, orderMs: atMs };
      }),
    ];
  });
  return { taken, comings };
}

/** A coat is entered as it was before its corrections, and each of them after it. */
function takeCoats(old: OldTables, comings: ReadonlyMap<string, number>) {
  const finishes = new Map<string, { carId: string; orderMs: number }>();
  const taken = old.coats.flatMap((coat): Taken[] => {
    const corrections = old.corrections.filter((each) => each.coat_id === coat.id);
    const first = (field: OldCorrection["field"]) => corrections.find((each) => each.field === field);
    const finishedAtMs = first("finishedAtMs")?.was ?? coat.finished_at_ms;
    const film = first("filmUm");
    const carId = coat.car_id;
    const orderMs = Math.max(finishedAtMs, comings.get(carId) ?? finishedAtMs);
    finishes.set(coat.id, { carId, orderMs });
    const panels = old.coat_panels.filter((each) => each.coat_id === coat.id).map((each) => each.panel);
    const finished = {
      ...{ carId, coats: [{ id: coat.id, substrate: coat.substrate, panels }] },
      ...{ sheetId: coat.sheet_id, sheetRevision: coat.sheet_revision, finishedAtMs },
      filmUm: film === undefined ? coat.film_um : film.was,
      panelAtFinishC: coat.panel_at_finish_c,
      ...{ batches: [], sprayCheck: null, before: { who: null, atMs: finishedAtMs } },
    };
    const corrected = corrections.map(({ at_ms: atMs, reason, field, was, became }): Taken => {
      const change = field === "filmUm" ? { field, was, became } : { field, was: was ?? finishedAtMs, became };
      const what = { carId, coatId: coat.id, reason, changes: [change], before: { who: null, atMs } };
      return { kind: "coat-corrected", what, orderMs: Math.max(atMs, orderMs) };
    });
    return [{ kind: "coats-finished", what: finished, orderMs }, ...corrected];
  });
  return { taken, finishes };
}

function takeChecks({ checks }: OldTables, finishes: ReadonlyMap<string, { carId: string; orderMs: number }>): Taken[] {
  return checks.flatMap((check): Taken[] => {
    const coat = finishes.get(check.coat_id);
    if (coat === undefined) throw new Error(`check ${check.id} is of no coat`);
    const ofCoat = { carId: coat.carId, coatId: check.coat_id, id: check.id };
    const checked = {
      ...ofCoat,
      ...{ stage: check.stage, atMs: check.at_ms, ready: check.ready === 1, how: check.how, note: check.note },
      before: { who: check.who, atMs: check.entered_at_ms },
    };
    const orderMs = Math.max(check.entered_at_ms, coat.orderMs);
    const { withdrawn_at_ms: withdrawnAtMs, withdrawn_reason: reason, withdrawn_who: who } = check;
    if (withdrawnAtMs === null || reason === null) return [{ kind: "coat-checked", what: checked, orderMs }];
    const withdrawn = { ...ofCoat, reason, before: { who, atMs: withdrawnAtMs } };
    return [
      { kind: "coat-checked", what: checked, orderMs },
      { kind: "check-withdrawn", what: withdrawn, orderMs: Math.max(withdrawnAtMs, orderMs) },
    ];
  });
}

function takeMixes({ mixes }: OldTables): Taken[] {
  return mixes.flatMap((mix): Taken[] => {
    const { id, place, mixed_at_ms: mixedAtMs, emptied_at_ms: emptiedAtMs } = mix;
    const mixed = {
      ...{ id, sheetId: mix.sheet_id, sheetRevision: mix.sheet_revision, place, mixedAtMs, litres: null, batches: [] },
      before: { who: mix.who, atMs: mixedAtMs },
    };
    const taken: Taken[] = [{ kind: "mixed", what: mixed, orderMs: mixedAtMs }];
    if (emptiedAtMs !== null) {
      const emptied = { id, atMs: emptiedAtMs, before: { who: null, atMs: emptiedAtMs } };
      taken.push({ kind: "mix-emptied", what: emptied, orderMs: emptiedAtMs });
    }
    return taken;
  });
}
