/** What people entered: sheets, cars, coats, checks and mixes. One SQLite file, durable before it is acknowledged. */
import type Database from "better-sqlite3";
import type { Sheet } from "../cure/sheet.ts";
import { openDatabase } from "../database.ts";
import { type Car, Cars, type NewCar } from "./cars.ts";
import { type Check, Checks, type NewCheck, type Withdrawal } from "./checks.ts";
import { type Coat, type CoatCorrection, Coats, type Correction, type NewCoat } from "./coats.ts";
import { type Mix, Mixes, type NewMix } from "./mixes.ts";
import { recordsSchema } from "./schema.ts";
import { Sheets } from "./sheets.ts";

export type { Car, Move, Panel } from "./cars.ts";
export { type Check, type CheckHow, checkHows } from "./checks.ts";
export type { Coat, Correction } from "./coats.ts";
export type { Mix } from "./mixes.ts";

/** The records of a shop. Entries that do not fit throw a RecordFault and write nothing; listeners hear of those that were written. */
export class Records {
  readonly #db: Database.Database;
  readonly #sheets: Sheets;
  readonly #cars: Cars;
  readonly #coats: Coats;
  readonly #checks: Checks;
  readonly #mixes: Mixes;
  readonly #carListeners = new Set<(carId: string) => void>();
  readonly #checkListeners = new Set<(sheetId: string, revision: number) => void>();
  readonly #mixListeners = new Set<(mix: Mix) => void>();

  /** Opens (and makes, when absent) the records in a file, one made by an earlier version too; throws as openDatabase does. */
  constructor(file: string) {
    this.#db = openDatabase(file, recordsSchema);
    this.#sheets = new Sheets(this.#db);
    this.#cars = new Cars(this.#db);
    this.#coats = new Coats(this.#db, this.#cars, this.#sheets);
    this.#checks = new Checks(this.#db, { cars: this.#cars, coats: this.#coats, sheets: this.#sheets });
    this.#mixes = new Mixes(this.#db, this.#sheets);
  }

  close(): void {
    this.#db.close();
  }

  /** Calls back after each change that touches a car, its coats and their checks included; the function returned ends it. */
  onChange(listener: (carId: string) => void): () => void {
    return listen(this.#carListeners, listener);
  }

  /** Calls back after a check of a sheet's revision was entered or withdrawn, before onChange; the function returned ends it. */
  onCheck(listener: (sheetId: string, revision: number) => void): () => void {
    return listen(this.#checkListeners, listener);
  }

  /** Calls back after a mix was entered or emptied; the function returned ends it. */
  onMix(listener: (mix: Mix) => void): () => void {
    return listen(this.#mixListeners, listener);
  }

  /** Keeps a revision of a sheet. Throws when the same revision is kept already with other content: coats rest on it. */
  keepSheet(sheet: Sheet): void {
    this.#sheets.keep(sheet);
  }

  sheet(id: string, revision: number): Sheet {
    return this.#sheets.revision(id, revision);
  }

  /** The newest revision of each sheet, by name. */
  sheets(): Sheet[] {
    return this.#sheets.newest();
  }

  addCar(car: NewCar): Car {
    const id = this.#cars.add(car);
    this.#carChanged(id);
    return this.car(id);
  }

  /** Records that a car stood in another place from an instant on, or (null) had left the shop. */
  addMove(carId: string, place: string | null, atMs: number): Car {
    this.#cars.move(carId, place, atMs);
    this.#carChanged(carId);
    return this.car(carId);
  }

  car(id: string): Car {
    return this.#cars.car(id);
  }

  /** Cars that have not left the shop. */
  carsHere(): Car[] {
    return this.#cars.here();
  }

  /** Records finished coats, one for each substrate among the panels, since panels of different make warm at different rates. */
  addCoats(carId: string, coat: NewCoat): Coat[] {
    const coats = this.#coats.add(carId, coat);
    this.#carChanged(carId);
    return coats;
  }

  /** Corrects a coat; the old value and the reason are kept. */
  correctCoat(coatId: string, correction: CoatCorrection): Coat {
    if (correction.finishedAtMs !== undefined) this.#checks.refuseFinish(coatId, correction.finishedAtMs);
    const coat = this.#coats.correct(coatId, correction);
    this.#carChanged(coat.carId);
    return coat;
  }

  corrections(coatId: string): Correction[] {
    return this.#coats.corrections(coatId);
  }

  coat(id: string): Coat {
    return this.#coats.coat(id);
  }

  /** A car's coats in the order they were finished. */
  coatsOf(carId: string): Coat[] {
    return this.#coats.ofCar(carId);
  }

  /**
   * Records that someone tried whether a coat is ready for a stage. The stage must be one of its sheet's (full cure always
   * is), the instant no earlier than the coat's finish, and the car still in the shop.
   */
  addCheck(check: NewCheck): Check {
    return this.#checkChanged(this.#checks.add(check));
  }

  /** Takes a check back, as after a mistap: it is kept with the reason, and counts no more. */
  withdrawCheck(id: string, withdrawal: Withdrawal): Check {
    return this.#checkChanged(this.#checks.withdraw(id, withdrawal));
  }

  check(id: string): Check {
    return this.#checks.check(id);
  }

  /** All checks of a coat, withdrawn ones too, oldest first. */
  checksOf(coatId: string): Check[] {
    return this.#checks.ofCoat(coatId);
  }

  /** The checks that count for a revision of a sheet, oldest first. */
  checksOfSheet(sheetId: string, revision: number): Check[] {
    return this.#checks.ofSheet(sheetId, revision);
  }

  /** Records a pot mixed by the newest revision of a sheet, which must give a pot life. */
  addMix(mix: NewMix): Mix {
    return this.#mixChanged(this.#mixes.add(mix));
  }

  /** Records that a pot was emptied, no earlier than it was mixed. */
  emptyMix(id: string, atMs: number): Mix {
    return this.#mixChanged(this.#mixes.empty(id, atMs));
  }

  mix(id: string): Mix {
    return this.#mixes.mix(id);
  }

  /** Mixes not yet emptied, oldest first. */
  openMixes(): Mix[] {
    return this.#mixes.open();
  }

  #carChanged(carId: string): void {
    for (const listener of this.#carListeners) listener(carId);
  }

  #checkChanged(check: Check): Check {
    const { carId, sheetId, sheetRevision } = this.coat(check.coatId);
    for (const listener of this.#checkListeners) listener(sheetId, sheetRevision);
    this.#carChanged(carId);
    return check;
  }

  #mixChanged(mix: Mix): Mix {
    for (const listener of this.#mixListeners) listener(mix);
    return mix;
  }
}

function listen<T>(listeners: Set<T>, listener: T): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
