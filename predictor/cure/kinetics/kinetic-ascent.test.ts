import { describe, expect, it } from "vitest";
import { conditions, stretchOf } from "./example-history.ts";
import {
  answers,
  begin,
  climb,
  exampleKinetics,
  glass,
  kamalSourour,
  secondOrder,
  stageNumbers,
  stages,
  vitrifying,
} from "./example-kinetics.ts";
import { type Kinetics, kineticsSchema } from "./kinetics.ts";

describe("KineticAscent at a constant temperature", () => {
  it("reaches the stages of a second-order reaction when α/(1 − α) = k·t says so, and is as old as it is at 20 °C", () => {
    const perMinute = 60 * 2e4 * Math.exp(-50_000 / (8.314462618 * 293.15));
    const ascent = begin(secondOrder, 20);
    climb(ascent, [{ minutes: 400, fromC: 20, toC: 20 }]);
    ascent.project(
      () => {},
      () => {
        for (const k of stageNumbers) {
          const conversion = (0.95 * stages[k as 0].curePercent) / 100;
          expect(ascent.likelyMinutes(k) * perMinute).toBeCloseTo(conversion / (1 - conversion), 9);
        }
        for (const at of [0, 10, 399, 400, 1000]) {
          const grown = perMinute * at;
          const { curePercent, equivalentMinutes } = ascent.progressAt(at);
          expect(curePercent).toBeCloseTo((100 / 0.95) * (grown / (1 + grown)), 9);
          expect(equivalentMinutes).toBeCloseTo(at, 7);
        }
        expect(ascent.progressAt(1e9).curePercent).toBe(100);
      },
    );
  });

  it.each(exampleKinetics)("is as old as it is at 20 °C: %s", (_, each) => {
    const ascent = begin(each, 20);
    climb(ascent, [{ minutes: 300, fromC: 20, toC: 20 }]);
    ascent.project(
      () => {},
      () => {
        expect(ascent.progressAt(100).equivalentMinutes).toBeCloseTo(100, 6);
        expect(ascent.progressAt(500).equivalentMinutes).toBeCloseTo(500, 6);
      },
    );
  });

  it("has passed the stages below its conversion at the finish", () => {
    const ascent = begin({ ...secondOrder, initialConversion: 0.5 }, 20);
    const [dustFree, , , sand] = answers(ascent);
    expect([dustFree, sand]).toEqual([0, 0]);
    expect(
      ascent.project(
        () => {},
        () => ascent.progressAt(0),
      ).curePercent,
    ).toBeCloseTo(50 / 0.95, 9);
  });

  it("never arrives where its rate is 0", () => {
    const frozen = { ...secondOrder, reaction: { preExponentialPerSecond: 1, activationEnergyKJ: 500 } } as Kinetics;
    expect(answers(begin(frozen, -220)).slice(0, 3)).toEqual(Array(3).fill(Number.POSITIVE_INFINITY));
  });

  it("runs faster and slower by its factor", () => {
    const [plain] = answers(begin(kamalSourour, 20));
    const [twice] = answers(begin(kamalSourour, 20, 0.3, 2));
    expect((plain as number) / (twice as number)).toBeCloseTo(2, 8);
  });

  it.each(exampleKinetics)(
    "has its lowered run where one at the lower temperature is, held on or not: %s",
    (_, each) => {
      for (const minutes of [0, 50, 2000]) {
        const ascents = [begin(each, 20, 0.5), begin(each, 19.5, 0)] as const;
        const [lowered, colder] = ascents.map((ascent, index) => {
          if (minutes > 0) climb(ascent, [{ minutes, fromC: 20 - index / 2, toC: 20 - index / 2 }]);
          return ascent.project(
            () => {},
            () => stageNumbers.map((k) => (index === 0 ? ascent.loweredMinutes(k) : ascent.likelyMinutes(k))),
          );
        });
        expect(lowered).toEqual(colder);
      }
    },
  );

  it("ends equivalent minutes at a hundred years where the glass at 20 °C would never let it get", () => {
    const ascent = begin(kineticsSchema.parse({ ...vitrifying, glass: { ...glass, tgCuredC: 90 } }), 90);
    climb(ascent, [{ minutes: 2000, fromC: 90, toC: 90 }]);
    ascent.project(
      () => {},
      () => expect(ascent.progressAt(2000)).toEqual({ curePercent: 100, equivalentMinutes: 52_596_000 }),
    );
  });
});

describe("KineticAscent.stallsAtPercent", () => {
  const stall = (each: Kinetics, panelC: number, minutes = 100) => {
    const ascent = begin(each, panelC);
    climb(ascent, [{ minutes, fromC: panelC, toC: panelC }]);
    return ascent.project(
      () => {},
      () => ascent.stallsAtPercent(),
    );
  };
  it("is nothing without a glass, and nothing where it is warm enough for full cure", () => {
    expect(stall(secondOrder, 5)).toBeNull();
    expect(stall(kamalSourour, -5)).toBeNull();
    expect(stall(vitrifying, 60)).toBeNull();
  });
  it("is nothing where the reaction itself is that slow and no glass holds it", () => {
    const slow = { preExponentialPerSecond: 1e-8, activationEnergyKJ: 0 };
    expect(stall(kineticsSchema.parse({ ...vitrifying, reaction: slow, autocatalysis: slow }), 60)).toBeNull();
  });
  it("is where a week brings a tenth of a percent, at a lower percentage the colder it is", () => {
    const [at5, at15] = [5, 15].map((panelC) => stall(vitrifying, panelC) as number);
    expect(at5).toBeGreaterThan(60);
    expect(at15).toBeGreaterThan(at5 as number);
    expect(at15).toBeLessThan(100);
    const ascent = begin(vitrifying, 5);
    ascent.project(
      () => {},
      () => {
        let at = 0;
        while (ascent.progressAt(at).curePercent < (at5 as number)) at += 720;
        const gained = ascent.progressAt(at + 7 * 1440).curePercent - ascent.progressAt(at).curePercent;
        expect(gained).toBeGreaterThan(0.08);
        expect(gained).toBeLessThan(0.1);
      },
    );
  });
  it("is where it stands when it has gone further than the glass at the last temperature would let it", () => {
    const ascent = begin(vitrifying, 60);
    const end = climb(ascent, [{ minutes: 40, fromC: 60, toC: 60 }]);
    ascent.stepTo(conditions(end, 0));
    ascent.project(
      () => {},
      () => expect(ascent.stallsAtPercent()).toBeCloseTo(ascent.progressAt(end).curePercent, 9),
    );
  });
});

describe("KineticAscent's history", () => {
  it("stays small over a month of noisy readings, and what is read off it within a hundred-thousandth of the age", () => {
    let seed = 7;
    const noise = () => {
      seed = (seed * 48_271) % 2_147_483_647;
      return seed / 2_147_483_647 - 0.5;
    };
    const slow = kineticsSchema.parse({
      ...kamalSourour,
      autocatalysis: { preExponentialPerSecond: 2e3, activationEnergyKJ: 50 },
    });
    let panelC = 18;
    const ascent = begin(slow, panelC, 0.3, 0.1);
    const readings = 30 * 8640;
    for (let reading = 0; reading < readings; reading++) {
      const toC = 18 + 4 * Math.sin((reading / 8640) * 2 * Math.PI) + 0.3 * noise();
      ascent.along(stretchOf(reading / 6, { minutes: 1 / 6, fromC: panelC, toC }));
      panelC = toC;
    }
    expect(ascent.bytes).toBeLessThan(600_000);
    ascent.project(
      () => {},
      () => {
        const likely = ascent.likelyMinutes(0);
        expect(likely).toBeGreaterThan(1440);
        expect(Math.abs(ascent.minutesAtFactor(0, 0.1) / likely - 1)).toBeLessThan(1e-5);
        const { coldestC, warmestC } = ascent.panelRange(Number.POSITIVE_INFINITY);
        expect(coldestC).toBeGreaterThan(13.8);
        expect(coldestC).toBeLessThan(14.5);
        expect(warmestC).toBeGreaterThan(21.5);
      },
    );
  });

  it("tells the panel's temperature at an instant, after a step at it, and holds both ends", () => {
    const ascent = begin(secondOrder, 20);
    climb(ascent, [
      { minutes: 10, fromC: 20, toC: 30 },
      { minutes: 10, fromC: 50, toC: 40 },
    ]);
    expect([-1, 0, 5, 10, 15, 20, 99].map((at) => ascent.panelAt(at))).toEqual([20, 20, 25, 50, 45, 40, 40]);
    expect(ascent.panelRange(5)).toEqual({ coldestC: 20, warmestC: 25 });
    expect(ascent.panelRange(99)).toEqual({ coldestC: 20, warmestC: 50 });
  });

  it("keeps a small step apart from the readings after it, however old the coat is", () => {
    const ascent = begin(secondOrder, 20);
    const from = climb(ascent, [{ minutes: 43_200, fromC: 20, toC: 20 }]);
    climb(
      ascent,
      Array.from({ length: 6 }, () => ({ minutes: 1 / 6, fromC: 20.3, toC: 20.3 })),
      from,
    );
    expect([from - 0.1, from, from + 0.1].map((at) => ascent.panelAt(at))).toEqual([20, 20.3, 20.3]);
  });

  it("sums up a rate of its own over the panel's temperature", () => {
    const ascent = begin(secondOrder, 20);
    climb(ascent, [{ minutes: 100, fromC: 20, toC: 30 }]);
    expect(ascent.minutesUntil(2500, (panelC) => panelC)).toBeCloseTo(100, 8);
    expect(ascent.minutesUntil(2800, (panelC) => panelC)).toBeCloseTo(110, 8);
    expect(ascent.minutesUntil(20.05, (panelC) => panelC)).toBeCloseTo(1, 8);
  });
});
