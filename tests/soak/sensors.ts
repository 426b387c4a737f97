/** What the soak's sensors say over their serial lines, and what goes wrong with them. */
import type { Quantity } from "../../collector/readings.ts";
import { serialLine } from "../../collector/sources/serial-line.ts";
import { Chance } from "../load/invented-shop.ts";
import { Weather } from "../load/weather.ts";
import { type Fault, pickOf } from "./schedule.ts";

type Values = (readonly [Quantity, number])[];

export class Sensors {
  readonly #weather: Weather;
  readonly #faults: readonly Fault[];
  readonly #all: readonly string[];
  readonly #last = new Map<string, Values>();
  #lines = 0;

  /** `all`: the shop's sensors, each in the place of its name. */
  constructor(seed: number, days: number, all: readonly string[], faults: readonly Fault[]) {
    this.#weather = new Weather(new Chance(seed), days);
    this.#all = all;
    this.#faults = faults;
  }

  /** The line of a sensor at an instant, without its end; null while it is silent. */
  line(sensor: string, atMs: number): string | null {
    this.#lines += 1;
    const isNow = (kind: Fault["kind"]) =>
      this.#faults.some(
        (fault) =>
          fault.kind === kind && fault.fromMs <= atMs && atMs < fault.untilMs && pickOf(fault, this.#all) === sensor,
      );
    if (isNow("sensor silent")) return null;
    const values = isNow("sensor stuck")
      ? (this.#last.get(sensor) ?? this.#measure(sensor, atMs))
      : this.#measure(sensor, atMs);
    this.#last.set(sensor, values);
    const isOdd = this.#lines % 7 === 0;
    const off = (values: Values, byC: number): Values => values.map(([name, value]) => [name, value + byC] as const);
    let said = values;
    if (isNow("sensor spikes") && isOdd) said = off(values, -25);
    if (isNow("sensor out of range")) said = off(values, 400);
    if (isNow("sensor says no number") && isOdd) said = values.map(([name]) => [name, Number.NaN] as const);
    const line = serialLine(sensor, said).trimEnd();
    if (isNow("half lines") && isOdd) return line.slice(0, line.length / 2);
    if (isNow("wrong checks") && isOdd) return line.replace(/\d/, (digit) => String((Number(digit) + 1) % 10));
    return line;
  }

  #measure(place: string, atMs: number): Values {
    const { airC, rhPercent, panelC } = this.#weather.at(place, atMs);
    return [
      ["air-temperature", hundredths(airC)],
      ["air-humidity", hundredths(rhPercent)],
      ["panel-temperature", hundredths(panelC)],
    ];
  }
}

const hundredths = (value: number) => Math.round(value * 100) / 100;
