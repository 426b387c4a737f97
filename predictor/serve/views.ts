/** What follow and warnings know, in the words of the API. */
import type { Quantity } from "../../collector/readings.ts";
import type { StageOutcome } from "../cure/climb.ts";
import { sheetWindows } from "../cure/windows.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { dewPointOrNull } from "../follow/current-air.ts";
import type { Follow } from "../follow/follow.ts";
import { lateToday } from "../follow/late-today.ts";
import { type CurrentValue, staleAfterMs } from "../follow/place-now.ts";
import type { Pots } from "../follow/pots.ts";
import type { StartBys } from "../follow/start-bys.ts";
import { sprayVerdict } from "../follow/verdict.ts";
import type { Car, Check, Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { Warnings } from "../warnings/warnings.ts";
import type { Words } from "../words.ts";
import { hoursAheadView, lessonView, placeView, potView, startByViews } from "./ahead-views.ts";
import type {
  Band,
  Cars,
  CarView,
  CheckView,
  Climate,
  CoatView,
  Current,
  Place,
  PlaceView,
  Shop,
  StageView,
} from "./api.ts";

export interface ViewParts {
  shopFile: ShopFile;
  follow: Follow;
  records: Records;
  warnings: Warnings;
  pots: Pots;
  startBys: StartBys;
  shopTime: ShopTime;
  now: () => number;
  words: Words;
}

/** Said wherever 'ready' is said. */
export const readyCaution =
  "Film only: isocyanate can be free for days. Mask and gloves on for sanding, polishing and touching.";

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

export class Views {
  readonly #parts: ViewParts;
  readonly shop: Shop;

  constructor(parts: ViewParts) {
    this.#parts = parts;
    const { shop, name, invented, timeZone, units, dim } = parts.shopFile;
    this.shop = { id: shop, name, invented, timeZone, units, dim: dim ?? null };
  }

  place(id: string): Place | null {
    return placeView(id, this.#parts.shopFile);
  }

  places(): Place[] {
    return Object.entries(this.#parts.shopFile.places).map(([id, { name, kind }]) => ({ id, name, kind }));
  }

  /** The wall of a place. `id` must be a place of the shop file. */
  placeView(id: string): PlaceView {
    const { shopFile, follow, warnings, pots, startBys, now } = this.#parts;
    const place = this.place(id);
    if (place === null) throw new RangeError(`no place ${id}`);
    const nowMs = now();
    return {
      shop: this.shop,
      place,
      asOf: iso(nowMs),
      climate: this.climate(id),
      verdict: sprayVerdict(this.#parts, id),
      coats: byNextEvent(
        follow.coatsAt(id).map((state) => this.coat(state)),
        nowMs,
      ),
      warnings: warnings.at(id).map(({ sinceMs, ...warning }) => ({ ...warning, since: iso(sinceMs) })),
      hoursAhead: hoursAheadView(follow.outlook(id)),
      startBy: startByViews(startBys.at(id), shopFile),
      pots: pots.at(id).map((pot) => potView(pot, shopFile)),
    };
  }

  climate(id: string): Climate {
    const current = (quantity: Quantity) => this.#parts.follow.current(id, quantity);
    const air = current("air-temperature");
    const humidity = current("air-humidity");
    const panel = current("panel-temperature");
    const dewC = dewPointOrNull(air?.value ?? null, humidity?.value ?? null);
    return {
      airC: currentView(air),
      rhPercent: currentView(humidity),
      panelC: currentView(panel),
      airSpeedMps: currentView(current("air-speed")),
      dewPointC: dewC,
      dewMarginC: dewC === null || air === undefined ? null : (panel?.value ?? air.value) - dewC,
    };
  }

  coat(state: CoatState): CoatView {
    const { coat, car, sheet } = state;
    const nowMs = this.#parts.now();
    return {
      id: coat.id,
      carId: car.id,
      job: car.job,
      car: car.name,
      panels: coat.panels,
      substrate: coat.substrate,
      sheet: {
        id: sheet.id,
        revision: sheet.revision,
        name: sheet.name,
        kind: sheet.kind,
        invented: sheet.invented,
        cautions: sheet.cautions,
      },
      place: state.place === null ? null : this.place(state.place),
      finishedAt: iso(coat.finishedAtMs),
      filmUm: coat.filmUm ?? sheet.film.dryUm,
      covered: state.covered,
      prediction: this.#prediction(state, nowMs),
      why: whyNoPrediction(state),
      bands: this.#bands(state),
      checks: this.#parts.records.checksOf(coat.id).map(checkView),
      caution: readyCaution,
    };
  }

  car(car: Car): CarView {
    const nowMs = this.#parts.now();
    const move = car.moves.at(-1);
    return {
      id: car.id,
      job: car.job,
      name: car.name,
      place: move?.place == null ? null : this.place(move.place),
      since: iso(move?.atMs ?? nowMs),
      panels: car.panels,
      coats: byNextEvent(
        this.#parts.follow.coatsOf(car.id).map((state) => this.coat(state)),
        nowMs,
      ),
    };
  }

  cars(): Cars {
    const nowMs = this.#parts.now();
    const cars = this.#parts.records.carsHere().map((car) => this.car(car));
    const next = (car: CarView) =>
      Math.min(Number.POSITIVE_INFINITY, ...car.coats.map((coat) => nextEventMs(coat, nowMs)));
    return { shop: this.shop, places: this.places(), cars: cars.sort((a, b) => compare(next(a), next(b))) };
  }

  #prediction(state: CoatState, nowMs: number): CoatView["prediction"] {
    const { outcome, sheet, coat, lastReadingAtMs } = state;
    const { curePercent, equivalentMinutes, panelC } = outcome;
    if (curePercent === null || equivalentMinutes === null || panelC === null || lastReadingAtMs === null) return null;
    const stages = outcome.stages.map((stage) => stageView(stage, nowMs));
    const next = stages.find((stage) => stage.state !== "ready") ?? null;
    const late = lateToday(outcome, nowMs, this.#parts.shopTime.workEndsAtMs(nowMs));
    return {
      asOf: iso(outcome.asOfMs),
      curePercent,
      equivalentMinutes,
      panelC,
      panelEstimated: outcome.panelEstimated,
      readingAt: iso(lastReadingAtMs),
      stages,
      windows: sheetWindows(sheet, outcome, coat.finishedAtMs, nowMs).map((window) => ({
        for: window.for,
        opensAt: isoOrNull(window.opensAtMs),
        closesAt: isoOrNull(window.closesAtMs),
        state: window.state,
        ifMissed: window.ifMissed,
      })),
      readyFor: stages.findLast((stage) => stage.state === "ready")?.stage ?? null,
      checkFirst: stages.findLast((stage) => stage.state === "check first")?.stage ?? null,
      next,
      lateToday: late && { state: late.state, workEndsAt: iso(late.workEndsAtMs) },
      lesson: lessonView(state.lesson),
      notes: outcome.notes.map(({ code, text }) => ({ code, text })),
    };
  }

  #bands({ stays, outcome }: CoatState): Band[] {
    const places = stays.map(
      (stay): Band => ({
        kind: "place",
        text: this.place(stay.place)?.name ?? stay.place,
        from: iso(stay.fromMs),
        to: stay.toMs === Number.POSITIVE_INFINITY ? null : iso(stay.toMs),
      }),
    );
    const gaps = outcome.notes.flatMap((note): Band[] => {
      if (note.code !== "gap" || note.fromMs === undefined || note.toMs === undefined) return [];
      return [
        {
          kind: "gap",
          text: "no reading",
          from: iso(note.fromMs),
          to: note.toMs >= outcome.asOfMs ? null : iso(note.toMs),
        },
      ];
    });
    return [...places, ...gaps];
  }
}

function whyNoPrediction({ isPending, outcome }: CoatState): string | null {
  if (outcome.curePercent !== null) return null;
  if (isPending) return "Its history is being read; a moment.";
  return outcome.notes[0]?.text ?? "No reading tells of its climate yet.";
}

function currentView(current: CurrentValue | undefined): Current | null {
  return current === undefined
    ? null
    : {
        value: current.value,
        at: iso(current.atMs),
        sensor: current.sensor,
        currentForSeconds: staleAfterMs(current) / 1000,
      };
}

function stageView(stage: StageOutcome, nowMs: number): StageView {
  const isPast = (ms: number | null) => ms !== null && ms <= nowMs;
  return {
    stage: stage.stage,
    curePercent: stage.curePercent,
    state: isPast(stage.safeAtMs) ? "ready" : isPast(stage.likelyAtMs) ? "check first" : "not yet",
    likelyAt: isoOrNull(stage.likelyAtMs),
    safeAt: isoOrNull(stage.safeAtMs),
    isCovered: stage.isCovered,
  };
}

function checkView({ id, stage, atMs, ready, how, who, note, withdrawn }: Check): CheckView {
  return {
    id,
    stage,
    at: iso(atMs),
    ready,
    how,
    who,
    note,
    withdrawn: withdrawn && { reason: withdrawn.reason, who: withdrawn.who, at: iso(withdrawn.atMs) },
  };
}

/** When something next happens to a coat: a stage becomes likely or safe, or a window closes. Infinity when nothing will. */
export function nextEventMs(coat: CoatView, nowMs: number): number {
  const { prediction } = coat;
  if (prediction === null) return Number.POSITIVE_INFINITY;
  const instants = [
    ...prediction.stages.flatMap((stage) => [stage.likelyAt, stage.safeAt]),
    ...prediction.windows.filter((window) => window.state !== "missed").map((window) => window.closesAt),
  ];
  const ahead = instants
    .flatMap((instant) => (instant === null ? [] : [Date.parse(instant)]))
    .filter((ms) => ms > nowMs);
  return Math.min(Number.POSITIVE_INFINITY, ...ahead);
}

function byNextEvent(coats: CoatView[], nowMs: number): CoatView[] {
  return coats.sort((a, b) => compare(nextEventMs(a, nowMs), nextEventMs(b, nowMs)));
}

/** Infinity minus Infinity is no order; equal is. */
function compare(a: number, b: number): number {
  return a === b ? 0 : a < b ? -1 : 1;
}
