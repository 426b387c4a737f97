/** The pots that stand mixed: how much of their life the mixing place's temperature has used up. */
import type { Logger } from "pino";
import { isUsable } from "../../collector/readings.ts";
import { type Mixture, type PotLife, potLife, type RoomReading } from "../cure/pot-life.ts";
import type { Sheet } from "../cure/sheet.ts";
import { type ReadingStore, type Sample, StoreAway } from "../readings/store.ts";
import type { Mix, Records } from "../records/records.ts";
import type { Change, Follow } from "./follow.ts";
import { type Places, seriesOf } from "./place-history.ts";

export interface PotParts {
  store: ReadingStore;
  records: Records;
  places: Places;
  follow: Pick<Follow, "onChange" | "outlook">;
  now: () => number;
  logger: Logger;
}

export interface Pot {
  mix: Mix;
  sheet: Sheet;
  life: PotLife;
  state: "good" | "closing" | "over" | "unknown";
  /** From when it is closing; null while nothing can be said. */
  closingFromMs: number | null;
}

/** Readings from this long before the mixing tell the temperature at it. */
const leadInMs = 10 * 60_000;
/** A pot's temperatures are kept no closer than this. */
const keepEveryMs = 30_000;
/** A pot is closing in the last fifth of its surer life, or the last ten minutes where that is shorter. Assumed. */
const closingShare = 0.2;
const closingAtMostMs = 10 * 60_000;
/** A pot that is over for this long is history, emptied or not. Assumed. */
const saidForMs = 12 * 60 * 60_000;

/** A store that is away is asked again after this long. Assumed. */
const storeAgainMs = 10_000;

export class Pots {
  readonly #parts: PotParts;
  /** The air of each open mix's place since its mixing. */
  readonly #air = new Map<string, RoomReading[]>();
  readonly #stops: (() => void)[] = [];

  constructor(parts: PotParts) {
    this.#parts = parts;
  }

  async start(): Promise<void> {
    const { records, follow } = this.#parts;
    this.#stops.push(
      follow.onChange((change) => this.#take(change)),
      records.onMix((mix) => {
        this.#air.delete(mix.id);
        if (mix.emptiedAtMs !== null) return;
        this.#readSoon(mix);
      }),
    );
    for (const mix of records.openMixes()) await this.#read(mix);
  }

  #readSoon(mix: Mix): void {
    this.#read(mix).catch((error: unknown) => {
      this.#parts.logger.error({ err: error, mix: mix.id }, "the air since a mixing could not be read");
      if (!(error instanceof StoreAway)) return;
      const again = setTimeout(() => this.#readSoon(mix), storeAgainMs);
      this.#stops.push(() => clearTimeout(again));
    });
  }

  stop(): void {
    for (const stop of this.#stops.splice(0)) stop();
  }

  /** Pots that are not emptied, the one to be used up first first. */
  open(): Pot[] {
    const nowMs = this.#parts.now();
    return this.#parts.records
      .openMixes()
      .map((mix) => this.#pot(mix, nowMs))
      .filter(({ life }) => !(life.endsAtMs !== null && nowMs - life.endsAtMs > saidForMs))
      .sort((a, b) => (a.life.useByAtMs ?? Infinity) - (b.life.useByAtMs ?? Infinity));
  }

  /** Those that stand in a place, and those whose paint is sprayed there. */
  at(place: string): Pot[] {
    const sprayed = this.#parts.places[place]?.sheets ?? [];
    return this.open().filter(({ mix, sheet }) => mix.place === place || sprayed.includes(sheet.id));
  }

  #pot(mix: Mix, nowMs: number): Pot {
    const { records, follow } = this.#parts;
    const sheet = records.sheet(mix.sheetId, mix.sheetRevision);
    const mixture: Mixture = {
      minutesAt20C: sheet.potLifeMinutesAt20C ?? Number.NaN,
      activationEnergyKJ: sheet.activationEnergyKJ,
    };
    const hours = follow.outlook(mix.place)?.hours ?? [];
    const life = potLife(mixture, mix.mixedAtMs, this.#air.get(mix.id) ?? [], nowMs, hours);
    return { mix, sheet, life, ...standing(life, mix.mixedAtMs, nowMs) };
  }

  #take({ readings }: Change): void {
    for (const mix of this.#parts.records.openMixes()) {
      const air = this.#air.get(mix.id);
      if (air === undefined) continue;
      for (const reading of readings) {
        if (reading.place === mix.place && reading.quantity === "air-temperature") keep(air, reading);
      }
    }
  }

  async #read(mix: Mix): Promise<void> {
    const { places, store, now } = this.#parts;
    const place = places[mix.place];
    const series = place && seriesOf(place).find(({ quantity }) => quantity === "air-temperature");
    const samples = series === undefined ? [] : await store.range(series, mix.mixedAtMs - leadInMs, now() + 1);
    const air: RoomReading[] = [];
    for (const sample of samples) keep(air, sample);
    this.#air.set(mix.id, air);
  }
}

/** Adds what is of use and comes late enough after the one before. */
function keep(air: RoomReading[], { atMs, ...sample }: Sample): void {
  const lastMs = air.at(-1)?.atMs ?? Number.NEGATIVE_INFINITY;
  const isKept = isUsable({ quantity: "air-temperature", ...sample }) && atMs - lastMs >= keepEveryMs;
  if (isKept) air.push({ atMs, airC: sample.value });
}

function standing(
  { useByAtMs, endsAtMs }: PotLife,
  mixedAtMs: number,
  nowMs: number,
): Pick<Pot, "state" | "closingFromMs"> {
  if (useByAtMs === null || endsAtMs === null) return { state: "unknown", closingFromMs: null };
  const closingFromMs = useByAtMs - Math.min((useByAtMs - mixedAtMs) * closingShare, closingAtMostMs);
  const state = nowMs >= useByAtMs ? "over" : nowMs >= closingFromMs ? "closing" : "good";
  return { state, closingFromMs };
}
