import { create } from "qrcode";
import { describe, expect, it } from "vitest";
import { qrPath } from "./qr-path.ts";

const address = "http://coatclock.local/";

describe("qrPath", () => {
  it("draws each dark module once, inside a quiet zone of four modules (ISO/IEC 18004), and nothing else", () => {
    const { path, side } = qrPath(address);
    const dark = new Set([...path.matchAll(/M(\d+) (\d+)h1v1h-1z/g)].map(([, x, y]) => `${x} ${y}`));
    const { modules } = create(address, { errorCorrectionLevel: "L" });
    expect(side).toBe(modules.size + 8);
    for (let y = 0; y < side; y++) {
      for (let x = 0; x < side; x++) {
        const inside = x >= 4 && y >= 4 && x < side - 4 && y < side - 4;
        expect(dark.has(`${x} ${y}`)).toBe(inside && modules.get(y - 4, x - 4) === 1);
      }
    }
  });
  it("has the three finder patterns of the standard: 7 dark modules along their outer edges, in three corners", () => {
    const { path, side } = qrPath(address);
    const row = (y: number) =>
      [...path.matchAll(/M(\d+) (\d+)h/g)].filter((m) => Number(m[2]) === y).map((m) => Number(m[1]));
    const edge = (from: number) => Array.from({ length: 7 }, (_, n) => from + n);
    expect(row(4)).toEqual(expect.arrayContaining([...edge(4), ...edge(side - 11)]));
    expect(row(side - 5)).toEqual(expect.arrayContaining(edge(4)));
    expect(row(4)).not.toContain(11);
  });
});
