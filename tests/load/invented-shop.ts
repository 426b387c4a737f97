/** The shop of the simulated month: its places and hours, and the chance that rules it. */
import { shopFileSchema } from "../../predictor/shop-file.ts";

export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;
/** A Monday. */
export const startMs = Date.parse("2026-02-02T00:00:00Z");
export const work = { fromHour: 7.5, toHour: 17 };

/** Looked at this often: every minute while people work, every five at night. The real one looks every two seconds. */
export const lookEveryMs = { work: minuteMs, night: 5 * minuteMs };

const place = (name: string, kind: string, sheets: string[]) => ({
  name,
  kind,
  sheets,
  sensors: {
    "air-temperature": `sim/${kind}`,
    "air-humidity": `sim/${kind}`,
    "panel-temperature": `sim/${kind}`,
  },
});

export const shop = {
  ...shopFileSchema.parse({
    shop: "simulated",
    name: "Simulated shop",
    invented: true,
    timeZone: "Etc/UTC",
    workday: { days: ["mon", "tue", "wed", "thu", "fri"], from: "07:30", to: "17:00" },
    places: {
      booth: place("Booth", "booth", ["demo-clear", "demo-solvent-base", "demo-sealer"]),
      prep: place("Prep", "prep", ["demo-surfacer", "demo-pretreat"]),
      workshop: place("Workshop", "workshop", []),
      mixing: place("Mixing", "mixing", []),
    },
    collectors: { sim: { elsewhere: true, sensors: ["booth", "prep", "workshop", "mixing"] } },
    mixingPlace: "mixing",
  }),
  folder: ".",
};
export const places = Object.keys(shop.places);

export const hourOf = (atMs: number) => (atMs % dayMs) / hourMs;
export const isWorkday = (atMs: number) => new Date(atMs).getUTCDay() % 6 !== 0;
export const isWork = (atMs: number) => isWorkday(atMs) && hourOf(atMs) >= work.fromHour && hourOf(atMs) < work.toHour;

/** Mulberry32: the same seed, the same month. */
export class Chance {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    const state = this.#state;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.next();
  }

  /** So many of them, or all. */
  some<T>(count: number, of: readonly T[]): Set<T> {
    const left = [...of];
    const taken = new Set<T>();
    while (taken.size < count && left.length > 0) {
      for (const each of left.splice(Math.floor(this.next() * left.length), 1)) taken.add(each);
    }
    return taken;
  }
}

/** What is to happen when. */
export class Diary {
  readonly #entries: { atMs: number; act: () => void }[] = [];

  at(atMs: number, act: () => void): void {
    const after = this.#entries.findIndex((entry) => entry.atMs > atMs);
    this.#entries.splice(after === -1 ? this.#entries.length : after, 0, { atMs, act });
  }

  /** Does what is due, and what comes of it. */
  until(nowMs: number): void {
    while ((this.#entries[0]?.atMs ?? Number.POSITIVE_INFINITY) <= nowMs) this.#entries.shift()?.act();
  }
}
