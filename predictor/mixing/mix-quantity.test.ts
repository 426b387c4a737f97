import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { wordsOf } from "../../words/words.ts";
import { inventedSheets } from "../records/library.ts";
import { type MixQuestion, mixQuantity } from "./mix-quantity.ts";
import { knownPanels } from "./panels.ts";

const words = wordsOf({ language: "en", timeZone: "UTC", units: { temperature: "C", clock: "24h" } });
const sheet: MixQuestion["sheet"] = {
  id: "two-pack",
  film: { dryUm: 60 },
  usualCoats: 2,
  solidsByVolumePercent: 60,
  mix: [
    { component: "paint", parts: 4 },
    { component: "hardener", parts: 1 },
    { component: "thinner", parts: 1 },
  ],
};
const whole = { transferEfficiencyPercent: 100, wasteLitres: 0 };
const amounts = (question: Partial<MixQuestion>, site = whole as Parameters<typeof mixQuantity>[1]) => {
  const answer = mixQuantity({ sheet, areaM2: 1, ...question }, site);
  if ("refusal" in answer) throw new Error(words.say(answer.refusal));
  return answer;
};
const refused = (question: Partial<MixQuestion>) => {
  const answer = mixQuantity({ sheet, areaM2: 1, ...question }, whole);
  return "refusal" in answer ? words.say(answer.refusal) : null;
};

describe("how much to mix", () => {
  it("is film over solids: thinner brings none, so the thinned mix covers less", () => {
    // 60 % of five parts in six is 50 %: 1 m² at 60 µm is 0.06 l of film, from 0.12 l.
    expect(amounts({}).litres).toBeCloseTo(0.12, 12);
    expect(amounts({}).components).toEqual([
      { component: "paint", litres: expect.closeTo(0.08, 12) },
      { component: "hardener", litres: expect.closeTo(0.02, 12) },
      { component: "thinner", litres: expect.closeTo(0.02, 12) },
    ]);
  });

  it("grows with what misses the panel and with what stays in the cup, and says what it took for it", () => {
    expect(amounts({}, { transferEfficiencyPercent: 50, wasteLitres: 0.1 }).litres).toBeCloseTo(0.34, 12);
    const assumed = amounts({}, {});
    expect(assumed.litres).toBeCloseTo(0.12 / 0.6 + 0.05, 12);
    expect(assumed.assumptions.map(words.say)).toEqual([
      "60 µm of dry film for 2 coats",
      "solids of 60 % by volume are those of the mix without thinner",
      "60 % of what leaves the gun stays on the panel (assumed until measured here)",
      "0.05 l stay in cup and gun (assumed)",
    ]);
  });

  it("goes with the number of coats, unless a film is named", () => {
    expect(amounts({ coats: 3 })).toMatchObject({ coats: 3, dryFilmUm: 90 });
    expect(amounts({ coats: 3, filmUm: 45 })).toMatchObject({ dryFilmUm: 45 });
  });

  it("names the smallest pot that holds it, and none when it takes more than the largest", () => {
    const site = { ...whole, potLitres: [1, 0.1, 0.25] };
    expect(amounts({}, site).potLitres).toBe(0.25);
    expect(amounts({ areaM2: 20 }, site).potLitres).toBeNull();
  });

  it("adds up the panels that the outline knows", () => {
    const answer = amounts({ areaM2: undefined, panels: ["bonnet", "roof"] });
    expect(answer.areaM2).toBeCloseTo(3.4, 12);
    expect(words.say(answer.assumptions[0] as never)).toMatch(/3\.40 m² together \(assumed\)/);
    expect(amounts({ areaM2: undefined, panels: ["roof", "roof"] }).areaM2).toBe(2);
  });

  it("counts wipes of a pre-treatment by the square metres one covers", () => {
    const wiped = { id: "wipe", film: { dryUm: 8 }, squareMetresPerWipe: 0.1 };
    expect(amounts({ sheet: wiped, areaM2: 0.3 })).toMatchObject({ wipes: 3, litres: 0, components: [] });
    expect(amounts({ sheet: wiped, areaM2: 0.31 }).wipes).toBe(4);
  });

  it("says what the sheet lacks, and which panel has no area", () => {
    const { mix: _, ...withoutMix } = sheet;
    const { solidsByVolumePercent: __, ...withoutSolids } = sheet;
    expect(refused({ sheet: withoutMix })).toMatch(/two-pack gives no mix/);
    expect(refused({ sheet: withoutSolids })).toMatch(/two-pack gives no solidsByVolumePercent/);
    expect(refused({ sheet: { ...sheet, mix: [{ component: "water", parts: 1 }] } })).toMatch(/nothing but thinner/);
    expect(refused({ areaM2: undefined, panels: ["bonnet", "fin"] })).toMatch(/No area is known for fin/);
    expect(refused({ areaM2: undefined, panels: [] })).toMatch(/Choose at least one panel/);
  });

  it("is the sum of its components, and never shrinks as the area grows", () => {
    const area = fc.double({ min: 0.01, max: 50, noNaN: true });
    fc.assert(
      fc.property(area, area, (one, other) => {
        const [small, large] = [Math.min(one, other), Math.max(one, other)].map((areaM2) => amounts({ areaM2 }, {}));
        const together = small?.components.reduce((sum, { litres }) => sum + litres, 0);
        expect(together).toBeCloseTo(small?.litres ?? Number.NaN, 9);
        expect(small?.litres).toBeLessThanOrEqual(large?.litres ?? Number.NaN);
      }),
    );
  });

  it("is that of the worked example in docs/mixing.md", () => {
    const clear = inventedSheets().find(({ id }) => id === "demo-clear");
    const answer = amounts({ ...(clear && { sheet: clear }), areaM2: undefined, panels: ["bonnet"] }, {});
    expect(answer.litres).toBeCloseTo(0.364, 3);
    expect(answer.components.map(({ litres }) => litres.toFixed(3))).toEqual(["0.220", "0.110", "0.033"]);
    expect(answer.potLitres).toBe(0.4);
  });

  it("is known for every invented material", () => {
    for (const each of inventedSheets())
      expect(mixQuantity({ sheet: each, areaM2: 1 }, {})).not.toHaveProperty("refusal");
  });
});

describe("the known panels", () => {
  it("are named once, in both languages", () => {
    const names = knownPanels.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
    const german = wordsOf({ language: "de", timeZone: "UTC", units: { temperature: "C", clock: "24h" } });
    for (const name of names) expect(german.named("panel", name)).not.toBe(name);
  });
});
