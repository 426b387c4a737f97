/** The cars of the shop, their panels, where they stood, and for when they were promised. */
import type Database from "better-sqlite3";
import type { Substrate } from "../cure/panel.ts";
import { type Appliers, run } from "./apply.ts";
import type { CardColour, What } from "./entry-kinds.ts";
import { newId } from "./new-id.ts";
import { conflict, notFound } from "./record-fault.ts";

export interface Panel {
  name: string;
  substrate: Substrate;
}

/** From this instant the car stood in `place`; null: it had left the shop. */
export interface Move {
  place: string | null;
  atMs: number;
  who: string;
}

export interface Car {
  id: string;
  job: string;
  name: string;
  /** Of the job card; null when none was named. */
  colour: CardColour | null;
  /** By when it was promised; null when nothing was. */
  promisedAtMs: number | null;
  panels: Panel[];
  /** In order of time; the first is its arrival. */
  moves: Move[];
}

export interface NewCar {
  /** Made up when absent. */
  id?: string | undefined;
  job: string;
  name: string;
  colour?: CardColour | null | undefined;
  promisedAtMs?: number | null | undefined;
  panels: readonly Panel[];
  place: string;
  atMs: number;
}

export interface MoveCorrection {
  place?: string | null | undefined;
  atMs?: number | undefined;
  reason: string;
}

export const carTables = `
  CREATE TABLE cars (
    id TEXT PRIMARY KEY, job TEXT NOT NULL, name TEXT NOT NULL, colour TEXT, promised_at_ms INTEGER
  ) STRICT;
  CREATE TABLE panels (
    car_id TEXT NOT NULL REFERENCES cars, name TEXT NOT NULL, substrate TEXT NOT NULL, PRIMARY KEY (car_id, name)
  ) STRICT;
  CREATE TABLE moves (
    car_id TEXT NOT NULL REFERENCES cars, at_ms INTEGER NOT NULL, place TEXT, who TEXT NOT NULL,
    PRIMARY KEY (car_id, at_ms)
  ) STRICT;
`;

export const carAppliers: Appliers<"car-came" | "panels-added" | "promised" | "car-moved" | "move-corrected"> = {
  "car-came"(db, { carId, job, name, colour, promisedAtMs, panels, place, atMs }, { who }) {
    run(db, "INSERT INTO cars VALUES (?, ?, ?, ?, ?)", carId, job, name, colour, promisedAtMs);
    insertPanels(db, carId, panels);
    run(db, "INSERT INTO moves VALUES (?, ?, ?, ?)", carId, atMs, place, who);
  },
  "panels-added"(db, { carId, panels }) {
    insertPanels(db, carId, panels);
  },
  promised(db, { carId, became }) {
    run(db, "UPDATE cars SET promised_at_ms = ? WHERE id = ?", became, carId);
  },
  "car-moved"(db, { carId, atMs, place }, { who }) {
    run(db, "INSERT INTO moves VALUES (?, ?, ?, ?)", carId, atMs, place, who);
  },
  "move-corrected"(db, { carId, was, became }) {
    const { atMs, place } = became;
    run(db, "UPDATE moves SET at_ms = ?, place = ? WHERE car_id = ? AND at_ms = ?", atMs, place, carId, was.atMs);
  },
};

function insertPanels(db: Database.Database, carId: string, panels: readonly Panel[]): void {
  for (const { name, substrate } of panels) run(db, "INSERT INTO panels VALUES (?, ?, ?)", carId, name, substrate);
}

export class Cars {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** What is entered of a new car. */
  coming(car: NewCar): What<"car-came"> {
    const carId = car.id ?? newId();
    if (this.#find(carId) !== undefined) throw conflict("record-fault.car-known", { id: carId });
    refuseTwice(car.panels);
    const promisedAtMs = car.promisedAtMs ?? null;
    refusePromise(car.atMs, promisedAtMs);
    const { job, name, place, atMs } = car;
    return { carId, job, name, colour: car.colour ?? null, promisedAtMs, panels: [...car.panels], place, atMs };
  }

  adding(carId: string, panels: readonly Panel[]): What<"panels-added"> {
    refuseTwice([...this.car(carId).panels, ...panels]);
    return { carId, panels: [...panels] };
  }

  promising(carId: string, became: number | null): What<"promised"> {
    const car = this.car(carId);
    refusePromise(arrivalOf(car), became);
    return { carId, was: car.promisedAtMs, became };
  }

  moving(carId: string, place: string | null, atMs: number): What<"car-moved"> {
    const car = this.car(carId);
    const arrivedMs = arrivalOf(car);
    if (!(atMs > arrivedMs)) {
      throw conflict("record-fault.move-before-arrival", { arrival: { dateMs: arrivedMs } });
    }
    if (car.moves.some((move) => move.atMs === atMs)) {
      throw conflict("record-fault.move-known", { at: { dateMs: atMs } });
    }
    return { carId, place, atMs };
  }

  /** The move of that instant, corrected; it stays between its neighbours. */
  correctingMove(carId: string, wasAtMs: number, correction: MoveCorrection): What<"move-corrected"> {
    const { moves } = this.car(carId);
    const index = moves.findIndex((move) => move.atMs === wasAtMs);
    const was = moves[index];
    if (was === undefined) throw notFound("record-fault.no-move", { at: { dateMs: wasAtMs } });
    const place = correction.place === undefined ? was.place : correction.place;
    const atMs = correction.atMs ?? was.atMs;
    if (place === was.place && atMs === was.atMs) throw conflict("record-fault.nothing-corrected");
    if (index === 0 && place === null) throw conflict("record-fault.no-arrival");
    const afterMs = moves[index - 1]?.atMs ?? Number.NEGATIVE_INFINITY;
    const beforeMs = moves[index + 1]?.atMs ?? Number.POSITIVE_INFINITY;
    if (!(atMs > afterMs && atMs < beforeMs)) throw conflict("record-fault.move-order");
    return {
      carId,
      reason: correction.reason,
      was: { place: was.place, atMs: was.atMs },
      became: { place, atMs },
    };
  }

  car(id: string): Car {
    const row = this.#find(id);
    if (row === undefined) throw notFound("record-fault.no-car", { id });
    return {
      ...row,
      panels: this.#db
        .prepare<[string], Panel>("SELECT name, substrate FROM panels WHERE car_id = ? ORDER BY rowid")
        .all(id),
      moves: this.#db
        .prepare<[string], Move>("SELECT place, at_ms AS atMs, who FROM moves WHERE car_id = ? ORDER BY at_ms")
        .all(id),
    };
  }

  /** Cars that have not left the shop. */
  here(): Car[] {
    return this.#db
      .prepare<[], { id: string }>(
        `SELECT car_id AS id FROM moves m WHERE at_ms = (SELECT max(at_ms) FROM moves WHERE car_id = m.car_id) AND place IS NOT NULL
         ORDER BY at_ms`,
      )
      .all()
      .map((row) => this.car(row.id));
  }

  #find(id: string): Omit<Car, "panels" | "moves"> | undefined {
    return this.#db
      .prepare<[string], Omit<Car, "panels" | "moves">>(
        "SELECT id, job, name, colour, promised_at_ms AS promisedAtMs FROM cars WHERE id = ?",
      )
      .get(id);
  }
}

/** When the car came to the shop. */
export function arrivalOf(car: Pick<Car, "moves">): number {
  return car.moves[0]?.atMs ?? Number.NEGATIVE_INFINITY;
}

/** Where a car with these moves, in order of time, stood at an instant; null: not in the shop. */
export function placeAt(moves: readonly Pick<Move, "place" | "atMs">[], atMs: number): string | null {
  return moves.findLast((move) => move.atMs <= atMs)?.place ?? null;
}

/** Throws when the car had left the shop by an instant. */
export function refuseAfterDeparture(car: Car, atMs: number): void {
  if (car.moves.findLast((move) => move.atMs <= atMs)?.place === null) {
    throw conflict("record-fault.had-left", { at: { dateMs: atMs } });
  }
}

function refuseTwice(panels: readonly Panel[]): void {
  const names = panels.map((panel) => panel.name);
  const twice = names.find((name, index) => names.indexOf(name) !== index);
  if (twice !== undefined) throw conflict("record-fault.panel-twice", { panel: twice });
}

function refusePromise(arrivedMs: number, promisedAtMs: number | null): void {
  if (promisedAtMs === null || promisedAtMs >= arrivedMs) return;
  throw conflict("record-fault.promise-before-arrival", { arrival: { dateMs: arrivedMs } });
}
