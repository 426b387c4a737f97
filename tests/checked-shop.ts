/** Fills a shop with an invented month of coats and checks, the same for the same seed: everything takes 8 % longer than was told, unless another factor is given. */
import { air, type ServedShop } from "./served-shop.ts";

const minute = 60_000;
const by = { who: "Painter A", role: "painter" } as const;
const toldSigma = 0.15;

/** An energy section of a shop file whose yard tells the temperature outdoors. */
export const inventedEnergy = `, outdoorPlace: yard,
  energy: { currency: EUR, heat: { pricePerKWh: 0.1, co2KgPerKWh: 0.2, source: Invented tariff, year: 2026 },
            electricity: { pricePerKWh: 0.3, co2KgPerKWh: 0.4, source: Invented tariff, year: 2026 }, burnerEfficiency: 0.9,
            airHandling: { booth: { bakeM3PerHour: 10000, recirculatedPercent: 80, flashOffM3PerHour: 1000, fansKW: 5 } } }`;

/** Of `coats` clears, two a day, each checked for polish: at the first look, again until ready, some only once. One is far off. */
export function fillWithChecks(
  { records, send }: Pick<ServedShop, "records" | "send">,
  coats = 40,
  { seed = 7, factor = 1.08 } = {},
): void {
  const now = Math.floor(Date.now() / minute) * minute;
  const firstMs = now - coats * 720 * minute - 600 * minute;
  for (let fromMs = firstMs - 60 * minute; fromMs < now; fromMs += 24 * 60 * minute) {
    const steps = Array.from({ length: 144 }, (_, index) => (index * 600 * 1000 + fromMs - now) / 1000).filter(
      (t) => t <= 0,
    );
    send([
      { bt: now / 1000 },
      ...steps.flatMap((t) => air(20, 50, t)),
      ...steps.map((t) => ({ bn: "pi/yard/", n: "air-temperature", u: "Cel", t, v: 6 })),
    ]);
  }
  const chance = chanceFrom(seed);
  for (let index = 0; index < coats; index++) {
    const finishedAtMs = firstMs + index * 720 * minute;
    const car = records.addCar(
      {
        job: String(100 + index),
        name: "Invented car",
        place: "booth",
        atMs: finishedAtMs - minute,
        panels: [{ name: "bonnet", substrate: "steel" }],
      },
      by,
    );
    const sprayed = {
      panels: ["bonnet"],
      sheetId: "demo-clear",
      finishedAtMs,
      filmUm: null,
      panelAtFinishC: null,
      batches: [],
      sprayCheck: null,
    };
    const [coat] = records.addCoats(car.id, sprayed, by);
    const likelyMs = Math.round(60 * minute * Math.exp(0.04 * chance.normal()));
    const told = {
      likelyAtMs: finishedAtMs + likelyMs,
      safeAtMs: finishedAtMs + Math.round(likelyMs * Math.exp(1.2816 * toldSigma)),
    };
    const isFarOff = index === coats - 6;
    const trueMs = likelyMs * (isFarOff ? 1.7 : factor * Math.exp(0.08 * chance.normal()));
    let lookMs = likelyMs * (0.85 + 0.45 * chance.even());
    for (let look = 0; look < (index % 7 === 3 ? 1 : 12); look++) {
      const ready = lookMs > trueMs;
      const check = { coatId: coat?.id ?? "", stage: "polish", ready, how: "thumb" } as const;
      records.addCheck({ ...check, atMs: Math.round(finishedAtMs + lookMs), told }, by);
      if (ready) break;
      lookMs *= 1.07;
    }
    if (index < coats - 1)
      records.addMove(car.id, null, finishedAtMs + Math.round((150 + 200 * chance.even()) * minute), by);
  }
}

/** Evenly from 0 to below 1: mulberry32, public domain; normal after Box and Muller. */
function chanceFrom(seed: number) {
  let state = seed;
  const even = () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
  return { even, normal: () => Math.sqrt(-2 * Math.log(1 - even())) * Math.cos(2 * Math.PI * even()) };
}
