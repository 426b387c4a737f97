/** What people entered. One SQLite file: a log that is only ever added to, and tables that show what it says. */
import type Database from "better-sqlite3";
import type { ClockState } from "../../collector/readings.ts";
import type { Sheet } from "../cure/sheet.ts";
import { openDatabase } from "../database.ts";
import { type Car, Cars, type MoveCorrection, type NewCar, type Panel } from "./cars.ts";
import { type Check, Checks, type NewCheck, type PlacedCheck } from "./checks.ts";
import { type Coat, type CoatCorrection, Coats, type Correction, type NewCoat } from "./coats.ts";
import type { Kind, What } from "./entry-kinds.ts";
import { type InstrumentRecord, type InstrumentSetting, Instruments, type SensorLine } from "./instruments.ts";
import { Listeners } from "./listeners.ts";
import { type By, type Head, isAboutCoat, Log, type LogEntry, type Written } from "./log.ts";
import { type Mix, Mixes, type NewMix } from "./mixes.ts";
import { type PersonEvent, personHappening } from "./people-kept.ts";
import { prepareRecords } from "./prepare-records.ts";
import { project } from "./projections.ts";
import { type Certificate, type DeviationAnswer, Quality, type SignOff } from "./quality.ts";
import { type Received, type Reception, receive } from "./received-log.ts";
import { type KeptSheet, Sheets } from "./sheets.ts";
import { type RecordedWarning, type WarningEvent, WarningsKept } from "./warnings-kept.ts";

export { madeOf } from "./apply.ts";
export type { Car, Move, Panel } from "./cars.ts";
export type { Check, PlacedCheck } from "./checks.ts";
export type { Coat, Correction, QualityVerdict, Withdrawal } from "./coats.ts";
export { type Batch, type CardColour, type CheckHow, cardColours, checkHows, type Told } from "./entry-kinds.ts";
export type { InstrumentRecord, InstrumentSetting, SensorLine } from "./instruments.ts";
export { type By, byRoles, type Head, type LogEntry, program, type Written } from "./log.ts";
export type { Mix } from "./mixes.ts";
export type { PersonEvent } from "./people-kept.ts";
export type { Certificate, DeviationAnswer, SignOff } from "./quality.ts";
export type { Received, Reception } from "./received-log.ts";
export { conflict, notFound } from "./record-fault.ts";
export type { KeptSheet } from "./sheets.ts";
export type { RecordedWarning, WarningEvent } from "./warnings-kept.ts";

export interface RecordsOptions {
  /** Made when absent; one of an earlier version is taken over. ":memory:" lasts until it is closed. */
  file: string;
  now: () => number;
  /** Whether the machine's clock can be believed, for each entry to say. */
  clock: () => ClockState;
}

/**
 * The records of a shop. An entry and its tables are one transaction, durable before it is acknowledged. Entries that do not
 * fit throw a RecordFault and write nothing; listeners hear of those that were written.
 */
export class Records {
  readonly #options: RecordsOptions;
  readonly #db: Database.Database;
  readonly #log: Log;
  readonly #sheets: Sheets;
  readonly #cars: Cars;
  readonly #coats: Coats;
  readonly #quality: Quality;
  readonly #checks: Checks;
  readonly #mixes: Mixes;
  readonly #warnings: WarningsKept;
  readonly #instruments: Instruments;
  readonly #entryListeners = new Listeners<[]>();
  readonly #carListeners = new Listeners<[carId: string]>();
  readonly #checkListeners = new Listeners<[sheetId: string, revision: number]>();
  readonly #mixListeners = new Listeners<[mix: Mix]>();

  /** Throws as openDatabase does. */
  constructor(options: RecordsOptions) {
    this.#options = options;
    this.#db = openDatabase(options.file, (db) => prepareRecords(db, { atMs: options.now(), clock: options.clock() }));
    this.#log = new Log(this.#db);
    this.#sheets = new Sheets(this.#db);
    this.#cars = new Cars(this.#db);
    this.#coats = new Coats(this.#db, this.#cars, this.#sheets);
    this.#quality = new Quality(this.#db, this.#coats);
    this.#checks = new Checks(this.#db, { cars: this.#cars, coats: this.#coats, sheets: this.#sheets });
    this.#mixes = new Mixes(this.#db, this.#sheets);
    this.#warnings = new WarningsKept(this.#db);
    this.#instruments = new Instruments(this.#db);
  }

  close(): void {
    this.#db.close();
  }

  /** Calls back after each change that touches a car, its coats and their checks included; the function returned ends it. */
  onChange(listener: (carId: string) => void): () => void {
    return this.#carListeners.add(listener);
  }

  /** Calls back after each entry, whatever it is about; the function returned ends it. */
  onEntry(listener: () => void): () => void {
    return this.#entryListeners.add(listener);
  }

  /** Calls back after the checks that count for a sheet's revision have changed, before onChange; the function returned ends it. */
  onCheck(listener: (sheetId: string, revision: number) => void): () => void {
    return this.#checkListeners.add(listener);
  }

  /** Calls back after a mix was entered or emptied; the function returned ends it. */
  onMix(listener: (mix: Mix) => void): () => void {
    return this.#mixListeners.add(listener);
  }

  /** Whether an entry with this key is in the log. */
  knows(key: string): boolean {
    return this.#log.knows(key);
  }

  /** The last entry of the log, which vouches for all before it; null in an empty one. */
  head(): Head | null {
    return this.#log.head();
  }

  /** Entries after one, verbatim, oldest first: as many as have so many characters, and one at the least. */
  writtenAfter(seq: number, charactersAtMost: number): Written[] {
    return this.#log.writtenAfter(seq, charactersAtMost);
  }

  /** An entry's hash; null where there is no such entry. */
  hashAt(seq: number): string | null {
    return this.#log.hashAt(seq);
  }

  /** For a copy of another machine's log: takes its entries as they come. Nothing else may be entered into a copy. */
  receive(entries: readonly Received[]): Reception {
    const taken: LogEntry[] = [];
    const reception = receive({ db: this.#db, log: this.#log }, entries, (entry) => taken.push(entry));
    if (taken.some(({ kind }) => kind.startsWith("sheet-"))) this.#sheets.read();
    if (taken.length > 0) this.#entryListeners.tell();
    return reception;
  }

  /** All entries about a car, or about one of its coats, oldest first. Throws where there is no such car or coat. */
  entriesOf(of: { carId: string } | { coatId: string }): LogEntry[] {
    if ("carId" in of) return this.#log.ofCar(this.car(of.carId).id);
    return this.#log.ofCar(this.coat(of.coatId).carId).filter((entry) => isAboutCoat(entry, of.coatId));
  }

  /**
   * Keeps a revision of a sheet; one that a person wrote waits for its approval. Throws when the same revision is kept already with other
   * content, since coats rest on it, and when a person's is not the next. `reason` is what that person changed, and why.
   */
  keepSheet(sheet: Sheet, by: By, reason?: string): void {
    const what = this.#sheets.keeping(sheet, reason, by);
    if (what === null) return;
    this.#enter("sheet-kept", what, by);
    this.#sheets.read();
  }

  /** New coats take this revision from now on. */
  approveSheet(id: string, revision: number, by: By): KeptSheet {
    this.#enter("sheet-approved", this.#sheets.approving(id, revision), by);
    this.#sheets.read();
    return this.#sheets.kept(id, revision);
  }

  /** Every revision of every sheet with its author and approval, approved or not, in the order they were kept. */
  keptSheets(): KeptSheet[] {
    return this.#sheets.all();
  }

  keptSheet(id: string, revision: number): KeptSheet {
    return this.#sheets.kept(id, revision);
  }

  /** The number that the next revision of a sheet must have; 1 for a sheet that there is not. */
  nextRevision(id: string): number {
    return this.#sheets.next(id);
  }

  /** How many coats that count rest on each revision that has any. */
  coatsLaid(): { sheetId: string; revision: number; count: number }[] {
    return this.#sheets.coatsLaid();
  }

  sheet(id: string, revision: number): Sheet {
    return this.#sheets.revision(id, revision);
  }

  /** The newest approved revision of each sheet, by name. */
  sheets(): Sheet[] {
    return this.#sheets.newest();
  }

  addCar(car: NewCar, by: By): Car {
    return this.#carChanged(this.#enter("car-came", this.#cars.coming(car), by).carId);
  }

  /** Records panels that were not thought of when the car came. */
  addPanels(carId: string, panels: readonly Panel[], by: By): Car {
    return this.#carChanged(this.#enter("panels-added", this.#cars.adding(carId, panels), by).carId);
  }

  /** Records by when the car was promised; null takes the promise back. */
  promise(carId: string, atMs: number | null, by: By): Car {
    return this.#carChanged(this.#enter("promised", this.#cars.promising(carId, atMs), by).carId);
  }

  /** Records that a car stood in another place from an instant on, or (null) had left the shop. */
  addMove(carId: string, place: string | null, atMs: number, by: By): Car {
    const what = this.#cars.moving(carId, place, atMs);
    this.#checks.refuseStranded(carId, [...this.car(carId).moves, what]);
    return this.#carChanged(this.#enter("car-moved", what, by).carId);
  }

  /** Corrects place or instant of the move that is recorded at an instant; the order of the moves stays, and no coat or check falls out of the car's stay. */
  correctMove(carId: string, wasAtMs: number, correction: MoveCorrection, by: By): Car {
    const what = this.#cars.correctingMove(carId, wasAtMs, correction);
    const others = this.car(carId).moves.filter((move) => move.atMs !== wasAtMs);
    this.#checks.refuseStranded(carId, [...others, what.became]);
    return this.#carChanged(this.#enter("move-corrected", what, by).carId);
  }

  car(id: string): Car {
    return this.#cars.car(id);
  }

  /** Cars that have not left the shop. */
  carsHere(): Car[] {
    return this.#cars.here();
  }

  /** Records finished coats, one for each substrate among the panels, since panels of different make warm at different rates. */
  addCoats(carId: string, coat: NewCoat, by: By): Coat[] {
    const { coats } = this.#enter("coats-finished", this.#coats.finishing(carId, coat), by);
    this.#carChanged(carId);
    return coats.map(({ id }) => this.coat(id));
  }

  /** Corrects a coat; the old value and the reason are kept. Another sheet must have the stages of the checks that count. */
  correctCoat(coatId: string, correction: CoatCorrection, by: By): Coat {
    const before = this.coat(coatId);
    const what = this.#coats.correcting(coatId, correction);
    if (correction.finishedAtMs !== undefined) this.#checks.refuseFinish(coatId, correction.finishedAtMs);
    if (correction.sheetId !== undefined) this.#checks.refuseSheet(coatId, this.#sheets.newestOf(correction.sheetId));
    this.#enter("coat-corrected", what, by);
    if (correction.sheetId !== undefined) for (const coat of [before, this.coat(coatId)]) this.#lessonChanged(coat);
    return this.#coatChanged(coatId);
  }

  /** Takes a coat back that was entered by mistake: it is kept with the reason, and counts no more, nor do its checks. */
  withdrawCoat(coatId: string, reason: string, by: By): Coat {
    this.#enter("coat-withdrawn", this.#coats.withdrawing(coatId, reason), by);
    this.#lessonChanged(this.coat(coatId));
    return this.#coatChanged(coatId);
  }

  corrections(coatId: string): Correction[] {
    return this.#coats.corrections(coatId);
  }

  /** Any coat, a withdrawn one too. */
  coat(id: string): Coat {
    return this.#coats.coat(id);
  }

  /** A car's coats that count, in the order they were finished. */
  coatsOf(carId: string): Coat[] {
    return this.#coats.ofCar(carId);
  }

  /** The same, and those that were withdrawn. */
  allCoatsOf(carId: string): Coat[] {
    return this.#coats.allOfCar(carId);
  }

  /** Cars that entries after one are about, and the last entry there is. */
  carsSince(seq: number): { lastSeq: number; carIds: string[] } {
    return this.#log.carsSince(seq);
  }

  /** The coats that count and were finished at an instant or later, and before another. */
  coatsFinished(fromMs: number, toMs: number): Coat[] {
    return this.#coats.finishedBetween(fromMs, toMs);
  }

  /** Releases a coat: records that someone vouches for it, and what the signature means. One that is held is refused. */
  signOff(coatId: string, meaning: string, by: By): Coat {
    this.#enter("coat-signed-off", this.#quality.signing(coatId, meaning), by);
    return this.#coatChanged(coatId);
  }

  /** Oldest first. */
  signOffs(coatId: string): SignOff[] {
    return this.#quality.signOffs(coatId);
  }

  /** Records that a coat may not go on, and why; one that was released, too. */
  hold(coatId: string, reason: string, by: By): Coat {
    this.#enter("coat-held", this.#quality.holding(coatId, reason), by);
    return this.#coatChanged(coatId);
  }

  /** Takes a release or a hold back, with the reason. */
  reopen(coatId: string, reason: string, by: By): Coat {
    this.#enter("coat-reopened", this.#quality.reopening(coatId, reason), by);
    return this.#coatChanged(coatId);
  }

  /** Records why a deviation is acceptable, or what was done about it. */
  answerDeviation(coatId: string, deviation: string, answer: string, by: By): Coat {
    this.#enter("deviation-answered", this.#quality.answering(coatId, deviation, answer), by);
    return this.#coatChanged(coatId);
  }

  /** Oldest first. */
  deviationAnswers(coatId: string): DeviationAnswer[] {
    return this.#quality.answers(coatId);
  }

  /** Records that a certificate with these bytes was made of coats of one car. */
  issueCertificate(carId: string, coatIds: readonly string[], digest: string, by: By): Certificate {
    this.#enter("certificate-issued", this.#quality.certifying(carId, coatIds, digest), by);
    this.#carChanged(carId);
    return this.#quality.certificate(digest) as Certificate;
  }

  /** Those that a coat is in, oldest first. */
  certificatesOf(coatId: string): Certificate[] {
    return this.#quality.certificatesOf(coatId);
  }

  /** Null where no certificate with such bytes was issued here. */
  certificate(digest: string): Certificate | null {
    return this.#quality.certificate(digest);
  }

  /**
   * Records that someone tried whether a coat is ready for a stage. The stage must be one of its sheet's (full cure always
   * is), the instant no earlier than the coat's finish, and the car still in the shop.
   */
  addCheck(check: NewCheck, by: By): Check {
    return this.#checkChanged(this.#enter("coat-checked", this.#checks.checking(check), by).id);
  }

  /** Takes a check back, as after a mistap: it is kept with the reason, and counts no more. */
  withdrawCheck(id: string, reason: string, by: By): Check {
    return this.#checkChanged(this.#enter("check-withdrawn", this.#checks.withdrawing(id, reason), by).id);
  }

  /** All checks of a coat, withdrawn ones too, oldest first. */
  checksOf(coatId: string): Check[] {
    return this.#checks.ofCoat(coatId);
  }

  /** The checks that count for a revision of a sheet, oldest first. */
  checksOfSheet(sheetId: string, revision: number): Check[] {
    return this.#checks.ofSheet(sheetId, revision);
  }

  /** The checks that count of such coats, oldest first, each with where its coat stood. */
  checksOfCoatsFinished(fromMs: number, toMs: number): PlacedCheck[] {
    return this.#checks.ofCoatsFinished(fromMs, toMs);
  }

  /** Records a pot mixed by the newest revision of a sheet, which must give a pot life. */
  addMix(mix: NewMix, by: By): Mix {
    return this.#mixChanged(this.#enter("mixed", this.#mixes.mixing(mix), by).id);
  }

  /** Records that a pot was emptied, no earlier than it was mixed. */
  emptyMix(id: string, atMs: number, by: By): Mix {
    return this.#mixChanged(this.#enter("mix-emptied", this.#mixes.emptying(id, atMs), by).id);
  }

  /** Mixes not yet emptied, oldest first. */
  openMixes(): Mix[] {
    return this.#mixes.open();
  }

  /** Records what happened to a warning. One that was not raised, or has ended, throws. */
  addWarningEvent(event: WarningEvent, by: By): void {
    const { kind, what } = this.#warnings.happening(event);
    this.#enter(kind, what, by);
  }

  /** Warnings that have not ended, oldest first. */
  warningsOpen(): RecordedWarning[] {
    return this.#warnings.open();
  }

  /** Warnings that ended at an instant or later, oldest first. */
  warningsEnded(sinceMs: number): RecordedWarning[] {
    return this.#warnings.ended(sinceMs);
  }

  /** Records how a sensor's readings are corrected, and by which comparison; nothing where that is known already. */
  setInstrument(line: SensorLine, setting: InstrumentSetting, by: By): void {
    const what = this.#instruments.setting(line, setting);
    if (what !== null) this.#enter("instrument-set", what, by);
  }

  /** Every sensor line that was ever set, with all its settings. */
  instruments(): InstrumentRecord[] {
    return this.#instruments.all();
  }

  /** Warnings about a coat, and about a place while it stood there, oldest first. */
  warningsAbout(coatId: string, stays: readonly { place: string; fromMs: number; toMs: number }[]): RecordedWarning[] {
    return this.#warnings.about(coatId, stays);
  }

  /** Records that a person was added or changed; with a key, once. People themselves are kept elsewhere. */
  addPersonEvent(event: PersonEvent, by: By): void {
    const { kind, what } = personHappening(event);
    if (!this.#log.says(kind, what, by)) this.#enter(kind, what, by);
  }

  #enter<K extends Kind>(kind: K, what: What<K>, by: By): What<K> {
    const made = { atMs: this.#options.now(), clock: this.#options.clock() };
    const enter = this.#db.transaction(() => {
      const entry = this.#log.append(kind, what, by, made);
      project(this.#db, entry as LogEntry);
      return entry.what;
    });
    const entered = enter.immediate();
    this.#entryListeners.tell();
    return entered;
  }

  #carChanged(carId: string): Car {
    this.#carListeners.tell(carId);
    return this.car(carId);
  }

  #coatChanged(coatId: string): Coat {
    this.#carChanged(this.coat(coatId).carId);
    return this.coat(coatId);
  }

  #lessonChanged({ sheetId, sheetRevision }: Coat): void {
    this.#checkListeners.tell(sheetId, sheetRevision);
  }

  #checkChanged(id: string): Check {
    const check = this.#checks.check(id);
    this.#lessonChanged(this.coat(check.coatId));
    this.#coatChanged(check.coatId);
    return check;
  }

  #mixChanged(id: string): Mix {
    const mix = this.#mixes.mix(id);
    this.#mixListeners.tell(mix);
    return mix;
  }
}
