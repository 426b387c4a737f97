/** What follow and warnings know, in the words of the API. */
import type { Quantity } from "../../collector/readings.ts";
import type { Words } from "../../words/words.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { dewPointOrNull } from "../follow/current-air.ts";
import type { Follow } from "../follow/follow.ts";
import { type CurrentValue, staleAfterMs } from "../follow/place-now.ts";
import type { Pots } from "../follow/pots.ts";
import type { StartBys } from "../follow/start-bys.ts";
import { sprayVerdict } from "../follow/verdict.ts";
import type { Car, Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { Warnings } from "../warnings/warnings.ts";
import { hoursAheadView, placeView, potView, startByViews } from "./ahead-views.ts";
import type { Cars, CarView, Climate, CoatView, Current, Overview, Place, PlaceView, Shop } from "./api.ts";
import { coatView, nextEventMs } from "./coat-view.ts";
import { warningView } from "./warning-views.ts";

export interface ViewParts {
  shopFile: ShopFile;
  follow: Follow;
  records: Records;
  warnings: Warnings;
  pots: Pots;
  startBys: StartBys;
  shopTime: ShopTime;
  now: () => number;
  /** Where phones find the pages. */
  address: () => string;
}

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

export class Views {
  readonly #parts: ViewParts;

  constructor(parts: ViewParts) {
    this.#parts = parts;
  }

  get shop(): Shop {
    const { shop, name, invented, language, timeZone, units, dim } = this.#parts.shopFile;
    const address = this.#parts.address();
    return { id: shop, name, invented, address, language, timeZone, units, dim: dim ?? null };
  }

  place(id: string): Place | null {
    return placeView(id, this.#parts.shopFile);
  }

  places(): Place[] {
    return Object.entries(this.#parts.shopFile.places).map(([id, { name, kind }]) => ({ id, name, kind }));
  }

  /** The wall of a place. `id` must be a place of the shop file. */
  placeView(id: string, words: Words): PlaceView {
    const { shopFile, follow, warnings, pots, startBys, now } = this.#parts;
    return {
      shop: this.shop,
      asOf: iso(now()),
      ...this.#air(id, words),
      coats: this.#coatsAt(id, words),
      warnings: warnings.at(id).map((warning) => warningView(warning, words)),
      hoursAhead: hoursAheadView(follow.outlook(id)),
      startBy: startByViews(startBys.at(id), shopFile),
      pots: pots.at(id).map((pot) => potView(pot, shopFile)),
    };
  }

  /** All places, in the order of the shop file. */
  overview(words: Words): Overview {
    const { shopFile, warnings, now } = this.#parts;
    return {
      shop: this.shop,
      asOf: iso(now()),
      places: Object.keys(shopFile.places).map((id) => {
        const open = warnings.at(id).filter(({ state }) => state === "open");
        return {
          ...this.#air(id, words),
          coats: this.#coatsAt(id, words),
          warning: open[0] === undefined ? null : warningView(open[0], words),
          openWarnings: open.length,
        };
      }),
    };
  }

  #air(id: string, words: Words): Pick<PlaceView, "place" | "climate" | "verdict"> {
    const place = this.place(id);
    if (place === null) throw new RangeError(`no place ${id}`);
    const { reason, ...verdict } = sprayVerdict(this.#parts, id);
    return { place, climate: this.climate(id), verdict: { ...verdict, reason: words.say(reason) } };
  }

  #coatsAt(id: string, words: Words): CoatView[] {
    const coats = this.#parts.follow.coatsAt(id).map((state) => this.coat(state, words));
    return byNextEvent(coats, this.#parts.now());
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

  coat(state: CoatState, words: Words): CoatView {
    return coatView(state, this.#parts, words);
  }

  car(car: Car, words: Words): CarView {
    const nowMs = this.#parts.now();
    const move = car.moves.at(-1);
    return {
      id: car.id,
      job: car.job,
      name: car.name,
      colour: car.colour,
      promisedAt: isoOrNull(car.promisedAtMs),
      place: move?.place == null ? null : this.place(move.place),
      since: iso(move?.atMs ?? nowMs),
      moves: car.moves.map(({ atMs, place, who }) => ({ at: iso(atMs), place, who })),
      panels: car.panels,
      coats: byNextEvent(
        this.#parts.follow.coatsOf(car.id).map((state) => this.coat(state, words)),
        nowMs,
      ),
    };
  }

  cars(words: Words): Cars {
    const nowMs = this.#parts.now();
    const cars = this.#parts.records.carsHere().map((car) => this.car(car, words));
    const next = (car: CarView) =>
      Math.min(Number.POSITIVE_INFINITY, ...car.coats.map((coat) => nextEventMs(coat, nowMs)));
    const openWarnings = this.#parts.warnings.all().filter(({ state }) => state === "open").length;
    return {
      shop: this.shop,
      places: this.places(),
      cars: cars.sort((a, b) => compare(next(a), next(b))),
      openWarnings,
    };
  }
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

function byNextEvent(coats: CoatView[], nowMs: number): CoatView[] {
  return coats.sort((a, b) => compare(nextEventMs(a, nowMs), nextEventMs(b, nowMs)));
}

/** Infinity minus Infinity is no order; equal is. */
function compare(a: number, b: number): number {
  return a === b ? 0 : a < b ? -1 : 1;
}
