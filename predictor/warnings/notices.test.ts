import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { urgencies } from "./condition.ts";
import { type NoticeData, NoticeLimit, spanMs } from "./notices.ts";

const notice = (id: string, atMs: number, urgency: NoticeData["urgency"] = "now"): NoticeData => ({
  id,
  atMs,
  kind: "warning",
  urgency,
  text: text("warn.store", { fault: id }),
  action: text("warn.store.do"),
  warningId: id,
  coatId: null,
  carId: null,
  count: 1,
});

/** What reaches a person, second by second, until all is quiet. */
function play(arrivals: readonly { atSecond: number; urgency: NoticeData["urgency"] }[]) {
  const limit = new NoticeLimit();
  const sent: NoticeData[] = [];
  const sorted = [...arrivals].sort((a, b) => a.atSecond - b.atSecond);
  const lastSecond = (sorted.at(-1)?.atSecond ?? 0) + 300;
  let next = 0;
  for (let second = 0; second <= lastSecond; second++) {
    for (; sorted[next]?.atSecond === second; next++) {
      const now = limit.offer(notice(String(next), second * 1000, sorted[next]?.urgency));
      if (now !== null) sent.push(now);
    }
    const due = limit.due(second * 1000);
    if (due !== null) sent.push(due);
  }
  return sent;
}

/** A flood: left alone, fast-check tries lists of ten or so, which no limit could hold back. */
const arrivals = fc.array(
  fc.record({ atSecond: fc.integer({ min: 0, max: 3600 }), urgency: fc.constantFrom(...urgencies) }),
  { minLength: 150, maxLength: 300, size: "max" },
);
const mostIn = (times: readonly number[]) =>
  Math.max(...times.map((fromMs) => times.filter((atMs) => atMs >= fromMs && atMs < fromMs + spanMs).length));

describe("what reaches a person", () => {
  it("is never more than ten messages in any ten minutes, whatever happens", () => {
    fc.assert(
      fc.property(arrivals, (given) => {
        expect(mostIn(given.map(({ atSecond }) => atSecond * 1000))).toBeGreaterThan(10);
        expect(mostIn(play(given).map(({ atMs }) => atMs))).toBeLessThanOrEqual(10);
      }),
    );
  });

  it("leaves nothing out: each is told by itself or counted in a gathered one, within two minutes", () => {
    fc.assert(
      fc.property(arrivals, (given) => {
        const sent = play(given);
        expect(sent.reduce((sum, { count }) => sum + count, 0)).toBe(given.length);
        for (const { atSecond } of given) {
          const atMs = atSecond * 1000;
          expect(sent.some((each) => each.atMs >= atMs && each.atMs <= atMs + 120_000)).toBe(true);
        }
      }),
    );
  });

  it("is told singly while there is little, and gathered under the most urgent when there is much", () => {
    const few = play([{ atSecond: 0, urgency: "soon" }]);
    expect(few).toMatchObject([{ kind: "warning", count: 1 }]);
    const many = play([
      ...Array.from({ length: 6 }, () => ({ atSecond: 0, urgency: "today" as const })),
      ...Array.from({ length: 8 }, () => ({ atSecond: 1, urgency: "now" as const })),
    ]);
    expect(many.filter(({ kind }) => kind === "warning")).toHaveLength(5);
    expect(many.filter(({ kind }) => kind === "gathered")).toMatchObject([
      { urgency: "today", count: 4 },
      { urgency: "now", count: 5 },
    ]);
  });

  it("keeps quiet about what is over before its turn came", () => {
    const limit = new NoticeLimit();
    for (let index = 0; index < 7; index++) limit.offer(notice(String(index), 0));
    limit.drop("6");
    expect(limit.due(1000)).toMatchObject({ id: "5", kind: "warning", count: 1 });
  });
});
