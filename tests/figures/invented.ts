/** What the figures are drawn from: invented materials and rooms, and a seeded generator. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { parse } from "yaml";
import { type Ladder, readSheet } from "../../predictor/cure/ladder.ts";

export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;

/** The invented clear coat of the rehearsal shop. */
export function inventedClear(): Ladder {
  const file = join(import.meta.dirname, "../../predictor/records/invented-sheets.yaml");
  const { sheets } = parse(readFileSync(file, "utf8")) as { sheets: { id: string }[] };
  return ladderOf(sheets.find(({ id }) => id === "demo-clear"));
}

/** An invented coat whose kinetics turn to glass in the cold. */
export function inventedGlass(): Ladder {
  return ladderOf({
    id: "invented-glass",
    revision: 1,
    name: "Invented coat with kinetics",
    kind: "clearcoat",
    film: { dryUm: 50 },
    stages: [
      { stage: "demask", curePercent: 45 },
      { stage: "polish", curePercent: 80 },
    ],
    kinetics: {
      model: "nth-order",
      reaction: { preExponentialPerSecond: 2e5, activationEnergyKJ: 50 },
      order: 2,
      validC: { min: 10, max: 60 },
      glass: { tgUncuredC: -40, tgCuredC: 85, lambda: 0.4, diffusionAtTgPerSecond: 1e-3 },
    },
  });
}

function ladderOf(input: unknown): Ladder {
  const read = readSheet(input);
  if ("faults" in read) throw new Error(`an invented sheet does not fit: ${JSON.stringify(read.faults)}`);
  return read.ladder;
}

/** Even numbers from 0 to 1, the same ones for the same seed: the mulberry32 generator. */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let bits = Math.imul(state ^ (state >>> 15), state | 1);
    bits ^= bits + Math.imul(bits ^ (bits >>> 7), bits | 61);
    return ((bits ^ (bits >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Numbers of a standard normal distribution, by Box and Muller's method. */
export function normals(uniform: () => number): () => number {
  return () => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** Values from one to another, both included, in so many equal steps. */
export function evenly(from: number, to: number, steps: number): number[] {
  return Array.from({ length: steps + 1 }, (_, step) => from + ((to - from) * step) / steps);
}
