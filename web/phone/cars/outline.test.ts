import { describe, expect, it } from "vitest";
import { wordsOf } from "../../../words/words.ts";
import { isDrawn, leastTouch, outline, outlineHeight, outlineWidth } from "./outline.ts";

describe("the outline of a car", () => {
  it("has parts that a finger in a glove meets: 8 mm, 48 px at 390 px", () => {
    for (const { name, box } of outline) {
      expect(Math.min(box.width, box.height), name).toBeGreaterThanOrEqual(leastTouch);
      expect(box.x + box.width, name).toBeLessThanOrEqual(outlineWidth);
      expect(box.y + box.height, name).toBeLessThanOrEqual(outlineHeight);
    }
  });

  it("has no two parts that overlap, and names each once", () => {
    for (const [index, { name, box: a }] of outline.entries()) {
      for (const { name: other, box: b } of outline.slice(index + 1)) {
        const apart = a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y;
        expect(apart, `${name} and ${other}`).toBe(true);
        expect(other).not.toBe(name);
      }
    }
  });

  it("takes bumpers and mirrors for plastic, as the predictor does", () => {
    for (const { name, substrate } of outline) {
      expect(substrate, name).toBe(/bumper|mirror/.test(name) ? "plastic" : "steel");
    }
  });

  it("names its parts in both languages", () => {
    const german = wordsOf({ language: "de", timeZone: "UTC", units: { temperature: "C", clock: "24h" } });
    for (const { name } of outline) expect(german.named("panel", name)).not.toBe(name);
    expect(isDrawn("roof")).toBe(true);
    expect(isDrawn("sliding door")).toBe(false);
  });
});
