import { describe, expect, it } from "vitest";
import { roomFor } from "./room.ts";

describe("roomFor", () => {
  it("gives the coats of few places more lines than those of many", () => {
    expect([1, 2, 3, 4, 6].map((tracks) => roomFor(tracks, true).coats)).toEqual([6, 3, 2, 1, 1]);
  });
  it("gives up the code, then the warning's second line, before a track's own letters", () => {
    expect(roomFor(5, true)).toMatchObject({ hasCode: true, oneLine: false });
    expect(roomFor(6, false)).toMatchObject({ hasCode: true });
    expect(roomFor(6, true)).toMatchObject({ hasCode: false, oneLine: true, coats: 1 });
  });
  it("fills the screen and never more", () => {
    for (const isWarned of [true, false]) {
      for (let tracks = 1; tracks <= 6; tracks++) {
        const { coats, railPx, hasCode, oneLine } = roomFor(tracks, isWarned);
        const warning = isWarned ? (oneLine ? 72 : 134) : 0;
        expect((hasCode ? 138 : 96) + 32 + warning + tracks * (coats * 114 + railPx)).toBeLessThanOrEqual(1080);
        expect(railPx).toBeGreaterThanOrEqual(28);
      }
    }
  });
  it("stands without any place", () => {
    expect(roomFor(0, false).coats).toBeGreaterThan(0);
  });
});
