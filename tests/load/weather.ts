/** The air of each place: a daily swing, damp days, cold mornings, a heater that sticks, doors that open. */
import { dewPointC } from "../../predictor/air/humidity.ts";
import { Beyond, type Fact } from "./facts.ts";
import { type Chance, dayMs, hourMs, hourOf, isWorkday, minuteMs, places, startMs } from "./invented-shop.ts";

export interface Air {
  airC: number;
  rhPercent: number;
  panelC: number;
}

interface Spell {
  place: string;
  fromMs: number;
  untilMs: number;
}

/** The strictest of the sheets sprayed there. */
const limits: Record<string, { coldC: number; hotC: number; dampPercent: number }> = {
  booth: { coldC: 16, hotC: 32, dampPercent: 75 },
  prep: { coldC: 15, hotC: 30, dampPercent: 75 },
};
const leastMarginC = 3;
/** Someone must know within five minutes, and the two looks that a delay takes here. */
const knownWithinMs = 5 * minuteMs;

export class Weather {
  readonly #chance: Chance;
  readonly #damp = new Map<number, number>();
  readonly #cold: Spell[] = [];
  readonly #hot: Spell[] = [];
  readonly #doors: Spell[] = [];
  readonly #beyond = new Map<string, Beyond>();

  constructor(chance: Chance, days: number) {
    this.#chance = chance;
    const all = Array.from({ length: days }, (_, day) => day);
    const workdays = all.filter((day) => isWorkday(startMs + day * dayMs));
    const damp = chance.some(Math.ceil(days * 0.12), workdays);
    for (const day of all) this.#damp.set(day, damp.has(day) ? chance.between(28, 38) : chance.between(-4, 6));
    for (const day of chance.some(Math.ceil(days * 0.1), workdays)) {
      const midnightMs = startMs + day * dayMs;
      const untilMs = midnightMs + chance.between(7.8, 9) * hourMs;
      for (const place of places) this.#cold.push({ place, fromMs: midnightMs + 3 * hourMs, untilMs });
    }
    for (const day of chance.some(Math.ceil(days * 0.07), workdays)) {
      const fromMs = startMs + day * dayMs + chance.between(9, 15) * hourMs;
      const place = chance.next() < 0.5 ? "booth" : "prep";
      this.#hot.push({ place, fromMs, untilMs: fromMs + chance.between(30, 70) * minuteMs });
    }
    for (const day of workdays) {
      for (const place of ["booth", "prep"]) {
        for (let hour = 7.5; hour < 17; hour += chance.between(0.3, 1.5)) {
          const fromMs = startMs + day * dayMs + hour * hourMs;
          this.#doors.push({ place, fromMs, untilMs: fromMs + chance.between(0.5, 4) * minuteMs });
        }
      }
    }
  }

  at(place: string, atMs: number): Air {
    const isIn = (spells: readonly Spell[]) =>
      spells.some((spell) => spell.place === place && spell.fromMs <= atMs && atMs < spell.untilMs);
    const hour = hourOf(atMs);
    const swing = Math.sin(((hour - 9) / 24) * 2 * Math.PI);
    const isHeated = (place !== "workshop" || (hour > 6 && hour < 18)) && !isIn(this.#cold);
    const isOpen = isIn(this.#doors);
    const warmthC = (isHeated ? 20.5 : 13) + (isIn(this.#hot) ? 14 : 0) - (isOpen ? 4.5 : 0);
    const airC = warmthC + 1.2 * swing + this.#chance.between(-0.15, 0.15);
    const damp = this.#damp.get(Math.floor((atMs - startMs - 5 * hourMs) / dayMs)) ?? 0;
    const moist = 47 + damp - 4 * swing + (isOpen ? 12 : 0) + this.#chance.between(-0.6, 0.6);
    return { airC, rhPercent: Math.min(97, moist), panelC: airC - 0.4 };
  }

  /** What matters of the air as it is; `isSensed` unless its sensors are at fault. */
  facts(place: string, { airC, rhPercent, panelC }: Air, isSensed: boolean, nowMs: number, stepMs: number): Fact[] {
    const limit = limits[place];
    if (limit === undefined) return [];
    const look = (rule: Fact["rule"], by: number, edges: { enter: number; leave: number }): Fact[] => {
      const name = `${rule} ${place}`;
      const beyond = this.#beyond.get(name) ?? new Beyond();
      this.#beyond.set(name, beyond);
      const fromMs = beyond.look(isSensed ? by : null, edges, nowMs);
      const is: Fact["is"] = (warning) =>
        warning.place === place &&
        (warning.rule === rule || (rule === "dew-point-margin" && warning.rule === "condensation"));
      return fromMs === null ? [] : [{ rule, what: place, fromMs, byMs: fromMs + knownWithinMs + 2 * stepMs, is }];
    };
    return [
      ...look("cold", limit.coldC - airC, { enter: 0.3, leave: 0 }),
      ...look("heat", airC - limit.hotC, { enter: 0.3, leave: 0 }),
      ...look("humidity", rhPercent - limit.dampPercent, { enter: 1, leave: 0 }),
      ...look("dew-point-margin", leastMarginC - (panelC - dewPointC(airC, rhPercent)), { enter: 0.3, leave: 0 }),
    ];
  }
}
