/** The cars of the shop, their panels, and where they stood. */
import type Database from "better-sqlite3";
import type { Substrate } from "../cure/panel.ts";
import { newId } from "./new-id.ts";
import { iso, RecordFault } from "./record-fault.ts";

export interface Panel {
  name: string;
  substrate: Substrate;
}

/** From this instant the car stood in `place`; null: it had left the shop. */
export interface Move {
  place: string | null;
  atMs: number;
}

export interface Car {
  id: string;
  job: string;
  name: string;
  panels: Panel[];
  /** In order of time; the first is its arrival. */
  moves: Move[];
}

export interface NewCar {
  job: string;
  name: string;
  panels: readonly Panel[];
  place: string;
  atMs: number;
}

export class Cars {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  add(car: NewCar): string {
    const names = car.panels.map((panel) => panel.name);
    const twice = names.find((name, index) => names.indexOf(name) !== index);
    if (twice !== undefined) throw new RecordFault("conflict", `panel "${twice}" is named twice`);
    const id = newId();
    this.#db.transaction(() => {
      this.#db.prepare("INSERT INTO cars (id, job, name) VALUES (?, ?, ?)").run(id, car.job, car.name);
      const insert = this.#db.prepare("INSERT INTO panels (car_id, position, name, substrate) VALUES (?, ?, ?, ?)");
      for (const [position, panel] of car.panels.entries()) insert.run(id, position, panel.name, panel.substrate);
      this.#db.prepare("INSERT INTO moves (car_id, at_ms, place) VALUES (?, ?, ?)").run(id, car.atMs, car.place);
    })();
    return id;
  }

  move(carId: string, place: string | null, atMs: number): void {
    const car = this.car(carId);
    const arrivedMs = arrivalOf(car);
    if (!(atMs > arrivedMs))
      throw new RecordFault("conflict", `the car came to the shop at ${iso(arrivedMs)}; a move must be later`);
    if (car.moves.some((move) => move.atMs === atMs))
      throw new RecordFault("conflict", `a move at ${iso(atMs)} is recorded already`);
    this.#db.prepare("INSERT INTO moves (car_id, at_ms, place) VALUES (?, ?, ?)").run(carId, atMs, place);
  }

  car(id: string): Car {
    const row = this.#db
      .prepare<[string], { id: string; job: string; name: string }>("SELECT id, job, name FROM cars WHERE id = ?")
      .get(id);
    if (row === undefined) throw new RecordFault("not-found", `no car ${id}`);
    return {
      ...row,
      panels: this.#db
        .prepare<[string], Panel>("SELECT name, substrate FROM panels WHERE car_id = ? ORDER BY position")
        .all(id),
      moves: this.#db
        .prepare<[string], Move>("SELECT place, at_ms AS atMs FROM moves WHERE car_id = ? ORDER BY at_ms")
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
}

/** When the car came to the shop. */
export function arrivalOf(car: Car): number {
  return car.moves[0]?.atMs ?? Number.NEGATIVE_INFINITY;
}

/** Throws when the car had left the shop by an instant. */
export function refuseAfterDeparture(car: Car, atMs: number): void {
  if (car.moves.findLast((move) => move.atMs <= atMs)?.place === null) {
    throw new RecordFault("conflict", `the car had left the shop by ${iso(atMs)}`);
  }
}
