/** Which faults come when: by chance from the seed, each kind with its own rate. */
import { Chance, dayMs, hourMs, minuteMs } from "../load/invented-shop.ts";

/** How often a day, and for how long at least and at most; a kill takes no time. */
interface Rate {
  aDay: number;
  lastsMs: readonly [number, number];
}

export const rates = {
  "collector killed": { aDay: 4, lastsMs: [0, 0] },
  "predictor killed": { aDay: 0.75, lastsMs: [0, 0] },
  "broker killed": { aDay: 3, lastsMs: [0, 0] },
  "broker away": { aDay: 0.4, lastsMs: [hourMs, 5 * hourMs] },
  "predictor away": { aDay: 0.25, lastsMs: [hourMs, 4 * hourMs] },
  "disk full": { aDay: 0.3, lastsMs: [hourMs, 4 * hourMs] },
  "disk read-only at the start": { aDay: 0.1, lastsMs: [hourMs, 3 * hourMs] },
  "collector's clock jumps": { aDay: 1, lastsMs: [20_000, 50_000] },
  "collector's clock not believed after a start": { aDay: 0.3, lastsMs: [hourMs, 5 * hourMs] },
  "predictor's clock jumps": { aDay: 0.15, lastsMs: [hourMs, 3 * hourMs] },
  "sensor silent": { aDay: 0.5, lastsMs: [20 * minuteMs, 4 * hourMs] },
  "sensor stuck": { aDay: 0.3, lastsMs: [hourMs, 7 * hourMs] },
  "sensor spikes": { aDay: 0.5, lastsMs: [10 * minuteMs, 2 * hourMs] },
  "sensor out of range": { aDay: 0.3, lastsMs: [10 * minuteMs, 2 * hourMs] },
  "sensor says no number": { aDay: 0.3, lastsMs: [10 * minuteMs, 2 * hourMs] },
  "half lines": { aDay: 0.3, lastsMs: [10 * minuteMs, 2 * hourMs] },
  "wrong checks": { aDay: 0.3, lastsMs: [10 * minuteMs, 2 * hourMs] },
  "packs that are none": { aDay: 1, lastsMs: [0, 0] },
  "MQTT that is none": { aDay: 1, lastsMs: [0, 0] },
  "HTTP that is none": { aDay: 1, lastsMs: [0, 0] },
  "page that stops reading": { aDay: 0.5, lastsMs: [hourMs, 6 * hourMs] },
} as const satisfies Record<string, Rate>;

export type FaultKind = keyof typeof rates;
export const faultKinds = Object.keys(rates) as FaultKind[];

export interface Fault {
  kind: FaultKind;
  fromMs: number;
  untilMs: number;
  /** From 0 to 1: which of several it hits, and how. */
  pick: number;
}

export interface Span {
  seed: number;
  startMs: number;
  endMs: number;
  /** All rates times this. */
  often: number;
}

/** In order of time; the same for the same seed and span. All are over before the end. */
export function scheduleOf({ seed, startMs, endMs, often }: Span): Fault[] {
  const chance = new Chance(seed);
  const days = (endMs - startMs) / dayMs;
  const faults = faultKinds.flatMap((kind) => {
    const { aDay, lastsMs }: Rate = rates[kind];
    const count = Math.floor(aDay * days * often + chance.next());
    return Array.from({ length: count }, (): Fault => {
      const fromMs = startMs + chance.between(0.03, 0.93) * (endMs - startMs);
      const untilMs = Math.min(fromMs + chance.between(...lastsMs), startMs + 0.95 * (endMs - startMs));
      return { kind, fromMs, untilMs, pick: chance.next() };
    });
  });
  return faults.sort((a, b) => a.fromMs - b.fromMs);
}

/** Which of several a fault hits. */
export function pickOf<T>({ pick }: Fault, of: readonly T[]): T | undefined {
  return of[Math.min(of.length - 1, Math.floor(pick * of.length))];
}
