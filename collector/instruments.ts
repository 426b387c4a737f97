/** What the shop file says of the instruments, applied to what the sources measure: corrected first, then judged. */
import { QualityCheck } from "./quality.ts";
import type { Mark, Quantity } from "./readings.ts";
import type { InstrumentSettings, Instruments } from "./settings.ts";
import type { Measurement } from "./sources/source.ts";

export type Judged = Measurement & { mark?: Mark };

interface Instrument {
  slope: number;
  offset: number;
  check: QualityCheck;
}

const asItReads: InstrumentSettings = { slope: 1, offset: 0 };

/** Of one collector. Holds one instrument for each sensor and quantity that ever measured: its sources name them, so they are few. */
export class InstrumentCare {
  readonly #settings: Instruments;
  readonly #instruments = new Map<string, Instrument>();

  constructor(settings: Instruments) {
    this.#settings = settings;
  }

  /**
   * The corrected value, slope × value read + offset, with its mark if it gets one. A humidity that comes out a little beyond
   * 0 or 100 % is that of dry or saturated air, read by a sensor of ordinary accuracy, and is given as 0 or 100 %; what comes
   * out further beyond a quantity's range is marked. `monotonicMs`: when it was read, on a clock that is never set.
   */
  take(measurement: Measurement, monotonicMs: number): Judged {
    const { slope, offset, check } = this.#instrumentOf(measurement);
    const value = withinReach(measurement.quantity, slope * measurement.value + offset);
    const mark = check.judge(monotonicMs, value);
    return { ...measurement, value, ...(mark && { mark }) };
  }

  #instrumentOf({ sensor, quantity }: Measurement): Instrument {
    const key = `${sensor}/${quantity}`;
    let instrument = this.#instruments.get(key);
    if (instrument === undefined) {
      const ofSensor = Object.hasOwn(this.#settings, sensor) ? this.#settings[sensor] : undefined;
      const settings = ofSensor?.[quantity] ?? asItReads;
      const { slope, offset } = settings;
      instrument = { slope, offset, check: new QualityCheck(quantity, settings) };
      this.#instruments.set(key, instrument);
    }
    return instrument;
  }
}

/** Assumed: what common humidity sensors may be off by. */
const humidityReachPercent = 3;

function withinReach(quantity: Quantity, value: number): number {
  if (quantity !== "air-humidity") return value;
  if (value > 100 && value <= 100 + humidityReachPercent) return 100;
  return value < 0 && value >= -humidityReachPercent ? 0 : value;
}
