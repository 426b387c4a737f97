/**
 * An invented painter for the rehearsal shop: enters cars, coats and moves as a person would, by what the coats are
 * ready for, so that every screen has something to show for as long as it runs. Knows nothing but the records and the
 * readiness, so a restart goes on where it stopped.
 */
import type { StageName } from "./cure/sheet.ts";
import type { CoatState } from "./follow/coat-state.ts";
import type { Follow } from "./follow/follow.ts";
import type { Batch, By, Car, CardColour, CheckHow, Panel, Records } from "./records/records.ts";

export interface PainterParts {
  records: Records;
  follow: Follow;
  now: () => number;
}

const by: By = { who: "invented painter", role: "painter" };
const minuteMs = 60_000;
const lookEveryMs = 15_000;
/** Of every second car: promised for so long after it came. */
const promisedAfterMs = 9 * 60 * minuteMs;
/** What the painter tries, and how; found not yet at the first share of the sheet's own time, ready at the second. */
const tried: Partial<Record<StageName, CheckHow>> = {
  sand: "sanding",
  demask: "thumb",
  assemble: "nail",
  polish: "nail",
};
const triedAt = [
  { share: 1.06, ready: false },
  { share: 1.24, ready: true },
] as const;

/** Invented cars, entered one after another. */
const arrivals: readonly { name: string; colour: CardColour; panels: readonly Panel[] }[] = [
  {
    name: "Green estate",
    colour: "yellow",
    panels: [steel("bonnet"), steel("front door left"), plastic("front bumper")],
  },
  {
    name: "White van",
    colour: "blue",
    panels: [steel("sliding door"), steel("rear wing right"), plastic("rear bumper")],
  },
  {
    name: "Blue hatchback",
    colour: "orange",
    panels: [aluminium("bonnet"), steel("front wing right"), plastic("front bumper")],
  },
  {
    name: "Red saloon",
    colour: "violet",
    panels: [steel("boot lid"), steel("rear door left"), plastic("rear bumper")],
  },
];

function steel(name: string): Panel {
  return { name, substrate: "steel" };
}
function aluminium(name: string): Panel {
  return { name, substrate: "aluminium" };
}
function plastic(name: string): Panel {
  return { name, substrate: "plastic" };
}

/** What the painter lays on a coat, and when: at a safe stage plus some minutes, or, for a pre-treatment, well after its window opens. */
const nextCoat: Record<string, { at: StageName; waitMinutes: number; sheet: string }> = {
  "demo-pretreat": { at: "overcoat", waitMinutes: 9, sheet: "demo-surfacer" },
  "demo-surfacer": { at: "sand", waitMinutes: 6, sheet: "demo-sealer" },
  "demo-sealer": { at: "overcoat", waitMinutes: 3, sheet: "demo-solvent-base" },
  "demo-solvent-base": { at: "overcoat", waitMinutes: 4, sheet: "demo-clear" },
};

export class RehearsalPainter {
  readonly #parts: PainterParts;
  #timer: NodeJS.Timeout | null = null;

  constructor(parts: PainterParts) {
    this.#parts = parts;
  }

  /** Enters the first cars when the shop is empty, then works on. */
  start(): void {
    if (this.#parts.records.carsHere().length === 0) this.#enterFirstCars();
    this.#timer = setInterval(() => this.work(), lookEveryMs);
  }

  stop(): void {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
  }

  /** One look around the shop; called by the timer. */
  work(): void {
    const { records, follow, now } = this.#parts;
    const nowMs = now();
    this.#emptyPots(nowMs);
    for (const car of records.carsHere()) {
      const coats = follow.coatsOf(car.id);
      for (const coat of coats) {
        this.#tryCoat(coat, nowMs);
        this.#overcoat(car, coat, nowMs);
      }
      const place = car.moves.at(-1)?.place;
      const isClear = coats.length > 0 && coats.every((coat) => coat.sheet.id === "demo-clear");
      if (isClear && place === "booth" && coats.every((coat) => isSafe(coat, "assemble", nowMs))) {
        records.addMove(car.id, "workshop", nowMs, by);
        this.#bringIn(nowMs);
      }
      if (isClear && place === "workshop" && coats.every((coat) => isSafe(coat, "polish", nowMs - 45 * minuteMs))) {
        records.addMove(car.id, null, nowMs, by);
      }
    }
  }

  /** Tries each stage twice; in this invented shop everything takes a little longer than the sheets say. */
  #tryCoat({ coat, outcome, lesson }: CoatState, nowMs: number): void {
    const { records } = this.#parts;
    const checks = records.checksOf(coat.id);
    for (const { stage, likelyMinutes, likelyAtMs, safeAtMs } of outcome.stages) {
      const how = tried[stage];
      if (how === undefined || likelyMinutes === null) continue;
      const sheetMinutes = likelyMinutes * Math.exp(lesson.lesson.lnFactor);
      const known = checks.filter((check) => check.stage === stage).length;
      const next = triedAt[known];
      if (next === undefined) continue;
      const atMs = Math.round(coat.finishedAtMs + next.share * sheetMinutes * minuteMs);
      if (atMs > nowMs) continue;
      const told = nowMs - atMs <= 2 * minuteMs ? { likelyAtMs, safeAtMs } : null;
      records.addCheck({ coatId: coat.id, stage, atMs, ready: next.ready, how, told }, by);
      return;
    }
  }

  /** Throws away what is left a quarter of an hour after its pot life. */
  #emptyPots(nowMs: number): void {
    const { records } = this.#parts;
    for (const mix of records.openMixes()) {
      const minutes = records.sheet(mix.sheetId, mix.sheetRevision).potLifeMinutesAt20C ?? 0;
      if (nowMs - mix.mixedAtMs > (minutes + 15) * minuteMs) records.emptyMix(mix.id, nowMs, by);
    }
  }

  #overcoat(car: Car, state: CoatState, nowMs: number): void {
    const next = nextCoat[state.sheet.id];
    if (next === undefined || !isSafe(state, next.at, nowMs - next.waitMinutes * minuteMs)) return;
    this.#coat(car, state.coat.panels, next.sheet, nowMs);
  }

  #bringIn(nowMs: number): void {
    const { records } = this.#parts;
    const inPrep = records.carsHere().find((car) => car.moves.at(-1)?.place === "prep");
    if (inPrep !== undefined) records.addMove(inPrep.id, "booth", nowMs, by);
    const car = this.#arrive("prep", nowMs);
    this.#coat(car, namesOf(car, "steel"), "demo-pretreat", nowMs);
    this.#mix("demo-surfacer", nowMs - 8 * minuteMs);
    this.#coat(car, namesOf(car, "plastic"), "demo-surfacer", nowMs);
  }

  /** A working day under way: a car at each step, its past entered with its own times. */
  #enterFirstCars(): void {
    const nowMs = this.#parts.now();
    const ago = (minutes: number) => nowMs - minutes * minuteMs;

    const inBooth = this.#arrive("booth", ago(70));
    this.#coat(inBooth, ["bonnet"], "demo-solvent-base", ago(52));
    this.#coat(inBooth, ["bonnet"], "demo-clear", ago(33));
    this.#coat(inBooth, ["front bumper"], "demo-solvent-base", ago(8));
    this.#coat(inBooth, ["front door left"], "demo-pretreat", ago(10.8));

    const inPrep = this.#arrive("prep", ago(90));
    this.#coat(inPrep, ["sliding door"], "demo-surfacer", ago(20));
    this.#coat(inPrep, ["rear bumper"], "demo-surfacer", ago(12));

    const inWorkshop = this.#arrive("booth", ago(300));
    this.#coat(inWorkshop, ["bonnet", "front wing right"], "demo-clear", ago(80));
    this.#parts.records.addMove(inWorkshop.id, "workshop", ago(25), by);

    this.#mix("demo-solvent-base", ago(15));
  }

  #arrive(place: string, atMs: number): Car {
    const { records } = this.#parts;
    const here = records.carsHere();
    const arrival = arrivals.find(({ name }) => !here.some((car) => car.name === name)) ?? arrivals[0];
    if (arrival === undefined) throw new Error("the rehearsal has no cars");
    const promisedAtMs = arrivals.indexOf(arrival) % 2 === 0 ? atMs + promisedAfterMs : null;
    return records.addCar({ ...arrival, job: `R-${1001 + numberOf(atMs)}`, promisedAtMs, place, atMs }, by);
  }

  #mix(sheetId: string, mixedAtMs: number): void {
    const batches = this.#batches(sheetId, mixedAtMs);
    this.#parts.records.addMix({ sheetId, place: "mixing", mixedAtMs, litres: 0.6, batches }, by);
  }

  #coat(car: Car, panels: readonly string[], sheetId: string, finishedAtMs: number): void {
    if (panels.length === 0) return;
    const coat = { panels, sheetId, finishedAtMs, filmUm: null, panelAtFinishC: null, sprayCheck: null };
    this.#parts.records.addCoats(car.id, { ...coat, batches: this.#batches(sheetId, finishedAtMs) }, by);
  }

  /** Invented tins, which last a day; what has a pot life has a hardener. */
  #batches(sheetId: string, atMs: number): Batch[] {
    const sheet = this.#parts.records.sheets().find(({ id }) => id === sheetId);
    const day = Math.floor(atMs / (24 * 60 * minuteMs)) % 1000;
    const paint = { component: sheet?.kind ?? "paint", batch: `invented P${day}` };
    const hardener = { component: "hardener", batch: `invented H${day}` };
    return sheet?.potLifeMinutesAt20C === undefined ? [paint] : [paint, hardener];
  }
}

/** Tells the minutes of six days apart. */
function numberOf(atMs: number): number {
  return Math.floor(atMs / minuteMs) % 9000;
}

function namesOf(car: Car, substrate: Panel["substrate"]): string[] {
  return car.panels.filter((panel) => panel.substrate === substrate).map((panel) => panel.name);
}

function isSafe(state: CoatState, stage: StageName, atMs: number): boolean {
  const safeAtMs = state.outcome.stages.find((each) => each.stage === stage)?.safeAtMs ?? null;
  return safeAtMs !== null && safeAtMs <= atMs;
}
