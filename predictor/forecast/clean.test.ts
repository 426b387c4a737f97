import { describe, expect, it } from "vitest";
import { withoutSpikes, withoutStuck } from "./clean.ts";

describe("cleaning the past", () => {
  const moving = Float64Array.from({ length: 300 }, (_, i) => 20 + Math.sin(i / 7));

  it("drops a day and more of exactly the same value, but not a quiet night", () => {
    const stuck = moving.map((value, i) => (i >= 100 && i < 160 ? 21 : i >= 200 && i < 230 ? 19 : value));
    const kept = withoutStuck(stuck, 96);
    expect(kept.subarray(100, 160).every(Number.isNaN)).toBe(true);
    expect([...kept.subarray(160)]).toEqual([...stuck.subarray(160)]);
  });

  it("leaves a place that never moves as it is", () => {
    const still = new Float64Array(300).fill(20);
    expect(withoutStuck(still, 96)).toEqual(still);
  });

  it("draws a spike in to what is usual and touches nothing else", () => {
    const spiked = moving.map((value, i) => (i === 150 ? 85 : value));
    const slots = Uint8Array.from(spiked, (_, i) => i % 48);
    const cleaned = withoutSpikes(spiked, slots, new Uint8Array(300));
    expect(cleaned[150]).toBeLessThan(27);
    for (const [i, value] of cleaned.entries()) if (i !== 150) expect(value).toBe(moving[i]);
  });
});
