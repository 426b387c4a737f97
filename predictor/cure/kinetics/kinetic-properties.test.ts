import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { conditions, type Part, stretchOf } from "./example-history.ts";
import {
  answers,
  begin,
  climb,
  exampleKinetics,
  glass,
  kamalSourour,
  stageNumbers,
  stages,
  validC,
} from "./example-kinetics.ts";
import type { KineticAscent } from "./kinetic-ascent.ts";

const tempC = fc.double({ min: -5, max: 70, noNaN: true });
const minutes = fc.double({ min: 0.05, max: 600, noNaN: true });
const part = fc.oneof(
  fc.record({ minutes, fromC: tempC, toC: tempC }),
  fc.record({ minutes, fromC: tempC, pullC: tempC, lagMinutes: fc.double({ min: 1, max: 60, noNaN: true }) }),
);
const history = fc.array(part, { minLength: 1, maxLength: 6 });
const kinetics = fc.constantFrom(...exampleKinetics.map(([, each]) => each));

function cutInTwo(part: Part, share: number): [Part, Part] {
  const stretch = stretchOf(0, part);
  const middle = conditions(0, 0);
  const first = part.minutes * share;
  stretch.at(first, middle);
  return [
    "toC" in part ? { ...part, minutes: first, toC: middle.panelC } : { ...part, minutes: first },
    { ...part, minutes: part.minutes - first, fromC: middle.panelC },
  ];
}

function warmer(part: Part, byC: number): Part {
  return "toC" in part
    ? { ...part, fromC: part.fromC + byC, toC: part.toC + byC }
    : { ...part, fromC: part.fromC + byC, pullC: part.pullC + byC };
}

describe("KineticAscent along any history", () => {
  it("is where it would be had the history been told in one piece fewer", () => {
    fc.assert(
      fc.property(kinetics, history, fc.double({ min: 0.05, max: 0.95, noNaN: true }), (each, parts, share) => {
        const first = parts[0] as Part;
        const whole = begin(each, first.fromC);
        climb(whole, parts);
        const pieces = begin(each, first.fromC);
        climb(
          pieces,
          parts.flatMap((each) => cutInTwo(each, share)),
        );
        const likely = (ascent: KineticAscent) =>
          ascent.project(
            () => {},
            () => stageNumbers.flatMap((k) => [ascent.likelyMinutes(k), ascent.loweredMinutes(k)]),
          );
        const expected = likely(whole);
        likely(pieces).forEach((found, index) => {
          expect(Math.abs(found / (expected[index] as number) - 1)).toBeLessThan(3e-8);
        });
      }),
      { numRuns: 60 },
    );
  });

  it("is never later when it is warmer, and the lowered run never earlier", () => {
    fc.assert(
      fc.property(kinetics, history, fc.double({ min: 0.1, max: 10, noNaN: true }), (each, parts, byC) => {
        const cool = begin(each, (parts[0] as Part).fromC);
        climb(cool, parts);
        const warm = begin(each, (parts[0] as Part).fromC + byC);
        climb(
          warm,
          parts.map((each) => warmer(each, byC)),
        );
        const [atCool, atWarm] = [answers(cool), answers(warm)];
        for (const k of stageNumbers) {
          expect(atWarm[3 * k]).toBeLessThanOrEqual((atCool[3 * k] as number) * (1 + 1e-9));
          expect(atCool[3 * k + 1]).toBeGreaterThanOrEqual((atCool[3 * k] as number) * (1 - 1e-9));
        }
      }),
      { numRuns: 60 },
    );
  });

  it("never loses conversion, within its history or beyond it, and reaches each stage at its percentage", () => {
    fc.assert(
      fc.property(kinetics, history, (each, parts) => {
        const ascent = begin(each, (parts[0] as Part).fromC);
        const end = climb(ascent, parts);
        ascent.project(
          () => {},
          () => {
            let before = 0;
            for (let at = 0; at <= 2 * end; at += end / 40) {
              const { curePercent } = ascent.progressAt(at);
              expect(curePercent).toBeGreaterThanOrEqual(before - 1e-9);
              before = curePercent;
            }
            for (const k of stageNumbers) {
              const at = ascent.likelyMinutes(k);
              if (at < 1e7) expect(ascent.progressAt(at).curePercent).toBeCloseTo(stages[k as 0].curePercent, 3);
            }
          },
        );
      }),
      { numRuns: 60 },
    );
  });

  it("agrees at its own factor with the likely run, and is later at every slower one", () => {
    fc.assert(
      fc.property(kinetics, history, fc.double({ min: 0.3, max: 3, noNaN: true }), (each, parts, factor) => {
        const ascent = begin(each, (parts[0] as Part).fromC, 0.3, factor);
        const end = climb(ascent, parts);
        ascent.project(
          () => {},
          () => {
            for (const k of stageNumbers) {
              const likely = ascent.likelyMinutes(k);
              // what thinning moves inside the history, the glass may spread out far beyond it
              const off = likely <= end ? 1e-5 * end : 1e-4 * likely;
              expect(Math.abs(ascent.minutesAtFactor(k, factor) - likely)).toBeLessThanOrEqual(off);
              const [slow, slower] = [0.8, 0.5].map((share) => ascent.minutesAtFactor(k, factor * share));
              expect(slow).toBeGreaterThan(likely);
              expect(slower).toBeGreaterThan(slow as number);
            }
            expect(ascent.minutesAtFactor(0, 0)).toBe(Number.POSITIVE_INFINITY);
          },
        );
      }),
      { numRuns: 60 },
    );
  });

  it("answers with numbers, never NaN, also in deep frost, in a fire, and at rates beyond all paint", () => {
    const rate = fc.double({ min: -30, max: 40, noNaN: true }).map((ln) => Math.exp(ln));
    const wild = fc.record({
      model: fc.constant("kamal-sourour" as const),
      reaction: fc.record({ preExponentialPerSecond: rate, activationEnergyKJ: fc.integer({ min: 0, max: 500 }) }),
      autocatalysis: fc.record({ preExponentialPerSecond: rate, activationEnergyKJ: fc.integer({ min: 0, max: 500 }) }),
      autocatalyticOrder: fc.double({ min: 0.1, max: 4, noNaN: true }),
      order: fc.double({ min: 0, max: 4, noNaN: true }),
      initialConversion: fc.constant(0),
      validC: fc.constant(validC),
      glass: fc.constantFrom(undefined, { ...glass, wlfC1: 40.16, wlfC2K: 51.6 }),
    });
    const anyC = fc.double({ min: -150, max: 400, noNaN: true });
    fc.assert(
      fc.property(wild, anyC, anyC, minutes, (each, fromC, toC, length) => {
        const ascent = begin(each, fromC);
        climb(ascent, [{ minutes: length, fromC, toC }]);
        for (const answer of answers(ascent)) expect(answer).not.toBeNaN();
      }),
      { numRuns: 200 },
    );
  });
});

describe("KineticAscent.project", () => {
  it("leaves no trace: an ascent that was projected goes on bit for bit like one that was not", () => {
    fc.assert(
      fc.property(kinetics, history, history, history, (each, parts, ahead, after) => {
        const projected = begin(each, (parts[0] as Part).fromC);
        const plain = begin(each, (parts[0] as Part).fromC);
        const now = climb(projected, parts);
        climb(plain, parts);
        const before = answers(projected);
        projected.project(
          () => {
            climb(projected, ahead, now);
          },
          () => projected.likelyMinutes(0),
        );
        expect(() =>
          projected.project(
            () => {
              climb(projected, ahead, now);
              throw new Error("lost");
            },
            () => 0,
          ),
        ).toThrow("lost");
        expect(answers(projected)).toEqual(before);
        climb(projected, after, now);
        climb(plain, after, now);
        expect(answers(projected)).toEqual(answers(plain));
      }),
      { numRuns: 40 },
    );
  });

  it("leaves no trace in readings so even that they share a row", () => {
    const evenly = (ascent: KineticAscent, from: number, panelC: number) =>
      climb(
        ascent,
        Array.from({ length: 60 }, () => ({ minutes: 1 / 6, fromC: panelC, toC: panelC })),
        from,
      );
    const projected = begin(kamalSourour, 20);
    const plain = begin(kamalSourour, 20);
    evenly(projected, 0, 20);
    evenly(plain, 0, 20);
    projected.project(
      () => {
        evenly(projected, evenly(projected, 10, 20), 35);
      },
      () => projected.likelyMinutes(0),
    );
    expect(answers(projected, [3, 9, 10, 11])).toEqual(answers(plain, [3, 9, 10, 11]));
    evenly(projected, 10, 20);
    evenly(plain, 10, 20);
    expect(answers(projected, [3, 10, 19])).toEqual(answers(plain, [3, 10, 19]));
  });

  it("goes on under the conditions to come and holds the last ones", () => {
    const bake: Part[] = [{ minutes: 60, fromC: 60, toC: 60 }];
    const ascent = begin(kamalSourour, 10);
    climb(ascent, [{ minutes: 30, fromC: 10, toC: 10 }]);
    const told = begin(kamalSourour, 10);
    climb(told, [{ minutes: 30, fromC: 10, toC: 10 }, ...bake]);
    const likely = ascent.project(
      () => {
        climb(ascent, bake, 30);
      },
      () => stageNumbers.map((k) => ascent.likelyMinutes(k)),
    );
    expect(likely).toEqual(stageNumbers.map((k) => answers(told)[3 * k]));
  });
});
