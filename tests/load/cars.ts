/** The cars and pots of the month: two days each from bare metal to delivery, on time as a rule, and now and then not. */
import type { By, Records } from "../../predictor/records/records.ts";
import type { Warning } from "../../predictor/warnings/warnings.ts";
import type { Fact } from "./facts.ts";
import { type Chance, type Diary, dayMs, hourMs, isWorkday, minuteMs, startMs, work } from "./invented-shop.ts";

export const painter: By = { who: "invented painter", role: "painter" };

/** How long before the end of a window, of a pot, of a promise someone must know, to do something about it. */
const leadMs = { window: 3 * minuteMs, pot: 5 * minuteMs, promise: 12 * minuteMs };
const pretreatWindowMs = 15 * minuteMs;
const gasJ = 8.314462618;
const arrivals = [7.7, 9.6, 11.9, 13.8];

interface Pot {
  mixedAtMs: number;
  lifeMs: number;
  activationJ: number;
  used: number;
  isEmptied: boolean;
}

export interface CarsParts {
  chance: Chance;
  diary: Diary;
  records: Records;
  now: () => number;
  days: number;
  note: (fact: Fact) => void;
}

/** The odd ones, by number. */
type Odd = Record<"window" | "surfacerPot" | "clearPot" | "promise" | "wetMove" | "evening", Set<number>>;

export class Cars {
  readonly #parts: CarsParts;
  readonly #pots: Pot[] = [];

  constructor(parts: CarsParts) {
    this.#parts = parts;
    const { chance, days } = parts;
    const workdays = Array.from({ length: days }, (_, day) => startMs + day * dayMs).filter(isWorkday);
    const cars = workdays.flatMap((midnightMs) => arrivals.map((hour) => midnightMs + hour * hourMs));
    const numbers = cars.map((_, number) => number);
    const few = (share: number, of = numbers) => chance.some(Math.ceil(share * of.length), of);
    const odd: Odd = {
      window: few(0.06),
      surfacerPot: few(0.06),
      clearPot: few(0.05),
      promise: few(0.08),
      wetMove: few(0.04),
      // Those that can still be sprayed just before work ends.
      evening: few(
        0.1,
        numbers.filter((number) => number % arrivals.length === 2),
      ),
    };
    for (const [number, atMs] of cars.entries()) this.#comes(number, atMs + chance.between(-6, 6) * minuteMs, odd);
  }

  /** The pots that stand use up their lives, at the temperature of their room. */
  look(roomC: number, stepMs: number): void {
    const { now, note } = this.#parts;
    for (const pot of this.#pots) {
      if (pot.isEmptied || pot.used >= 1) continue;
      const { activationJ, lifeMs, mixedAtMs } = pot;
      pot.used += (stepMs / lifeMs) * Math.exp((activationJ / gasJ) * (1 / 293.15 - 1 / (roomC + 273.15)));
      if (pot.used < 1) continue;
      const endedAtMs = now();
      const isOfPot = ({ rule, text }: Warning, key: string) =>
        rule === "pot-life" && text.key === key && JSON.stringify(text.values).includes(String(mixedAtMs));
      const base = { rule: "pot-life", fromMs: mixedAtMs } as const;
      note({
        ...base,
        what: "ends soon",
        byMs: endedAtMs - leadMs.pot,
        is: (warning) => isOfPot(warning, "warn.pot-closing"),
      });
      note({ ...base, what: "is over", byMs: endedAtMs, is: (warning) => isOfPot(warning, "warn.pot-over") });
    }
  }

  #comes(number: number, comesAtMs: number, odd: Odd): void {
    const { chance, diary, records, now, note } = this.#parts;
    const is = (what: keyof Odd) => odd[what].has(number);
    let carId = "";
    const about = (rule: Fact["rule"], fromMs: number, byMs: number) =>
      note({ rule, what: `car ${number}`, fromMs, byMs, is: (each) => each.rule === rule && each.carId === carId });
    const coat = (sheetId: string, atMs: number) =>
      diary.at(atMs, () => {
        const finish = { panels: ["door"], sheetId, finishedAtMs: now(), filmUm: null, panelAtFinishC: null };
        records.addCoats(carId, { ...finish, batches: [], sprayCheck: null }, painter);
      });
    const move = (where: string | null, atMs: number) =>
      diary.at(atMs, () => records.addMove(carId, where, now(), painter));

    const pretreatedMs = comesAtMs + 10 * minuteMs;
    const surfacedMs = pretreatedMs + (is("window") ? chance.between(25, 40) : chance.between(5, 9)) * minuteMs;
    const toBoothMs = surfacedMs + chance.between(70, 110) * minuteMs;
    const sealedMs = toBoothMs + 12 * minuteMs;
    const basedMs = sealedMs + chance.between(20, 30) * minuteMs;
    const eveningMs = comesAtMs - (comesAtMs % dayMs) + work.toHour * hourMs - chance.between(17, 22) * minuteMs;
    const clearedMs = is("evening") ? eveningMs : basedMs + chance.between(15, 25) * minuteMs;
    // Polished an hour after the clear coat at 20 °C at the soonest.
    const promisedMs = Math.round(
      clearedMs + (is("promise") ? chance.between(22, 45) : chance.between(75, 180)) * minuteMs,
    );

    diary.at(comesAtMs, () => {
      const panels = [{ name: "door", substrate: "steel" as const }];
      const promisedAtMs = is("promise") || number % 2 === 0 ? promisedMs : null;
      const named = { job: `S-${number}`, name: `Car ${number}`, colour: null, promisedAtMs, panels };
      carId = records.addCar({ ...named, place: "prep", atMs: now() }, painter).id;
    });
    coat("demo-pretreat", pretreatedMs);
    if (is("window")) {
      const shutMs = pretreatedMs + pretreatWindowMs;
      about("window-closing", pretreatedMs, shutMs - leadMs.window);
      about("window-missed", shutMs, shutMs + 5 * minuteMs);
    }
    this.#mix("demo-surfacer", surfacedMs - 4 * minuteMs, is("surfacerPot") ? 70 : chance.between(8, 25));
    coat("demo-surfacer", surfacedMs);
    move("workshop", surfacedMs + chance.between(12, 25) * minuteMs);
    move("booth", toBoothMs);
    coat("demo-sealer", sealedMs);
    coat("demo-solvent-base", basedMs);
    this.#mix("demo-clear", clearedMs - 6 * minuteMs, is("clearPot") ? 90 : chance.between(10, 25));
    coat("demo-clear", clearedMs);
    if (is("promise")) about("promise", clearedMs, promisedMs - leadMs.promise);
    if (is("evening")) about("not-today", clearedMs, eveningMs - (eveningMs % dayMs) + work.toHour * hourMs);
    const movedMs = clearedMs + (is("wetMove") ? 4 : chance.between(45, 70)) * minuteMs;
    move("workshop", movedMs);
    if (is("wetMove")) about("moved-wet", movedMs, movedMs + 5 * minuteMs);
    move(null, clearedMs + chance.between(20, 26) * hourMs);
  }

  #mix(sheetId: string, atMs: number, emptiedAfterMinutes: number): void {
    const { diary, records, now } = this.#parts;
    diary.at(atMs, () => {
      const sheet = records.sheets().find(({ id }) => id === sheetId);
      const { id } = records.addMix({ sheetId, place: "mixing", mixedAtMs: now(), litres: 0.5, batches: [] }, painter);
      const lifeMs = (sheet?.potLifeMinutesAt20C ?? Number.NaN) * minuteMs;
      const activationJ = (sheet?.activationEnergyKJ ?? Number.NaN) * 1000;
      const pot: Pot = { mixedAtMs: now(), lifeMs, activationJ, used: 0, isEmptied: false };
      this.#pots.push(pot);
      diary.at(now() + emptiedAfterMinutes * minuteMs, () => {
        pot.isEmptied = true;
        records.emptyMix(id, now(), painter);
      });
    });
  }
}
