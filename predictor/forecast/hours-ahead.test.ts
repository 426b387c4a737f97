import fc from "fast-check";
import { DateTime } from "luxon";
import { describe, expect, it } from "vitest";
import { halfHoursOf, heatedRoom, normals } from "./example-place.ts";
import { coolingFrom, type HourAhead, hoursAhead } from "./hours-ahead.ts";
import { type HalfHour, learnPlace } from "./place-model.ts";

const hour = 3_600_000;
const halfHour = hour / 2;
const day = 24 * hour;
/** A Monday, 00:00 UTC. */
const mondayMs = Date.UTC(2026, 0, 5);
const utc = { offsetMs: () => 0 };
const heating = { days: [1, 2, 3, 4, 5], fromMinute: 420, toMinute: 1020 };

/** A day that is warm in the afternoon. */
const sine = (atMs: number) => 15 + 5 * Math.sin((2 * Math.PI * (atMs - 9 * hour)) / day);
const at = (ahead: readonly HourAhead[], atMs: number) => ahead.find((point) => point.atMs === atMs) as HourAhead;

/** Error ÷ persistence and the band's share at lead times in hours; learned again at each origin from 14 days before it. */
function scored(series: readonly HalfHour[], step: number, leads: readonly number[]) {
  const scores = leads.map((hours) => ({ hours, error: 0, persistence: 0, inside: 0, count: 0 }));
  const longest = Math.max(...leads);
  for (let o = 14 * 48; o + 2 * longest < series.length; o += step) {
    const now = series[o] as HalfHour;
    const model = learnPlace(series.slice(o - 14 * 48 + 1, o + 1), utc);
    const told = hoursAhead(model, { atMs: now.startMs + halfHour / 2, airC: now.airC }, longest + 1);
    for (const score of scores) {
      const truth = (series[o + 2 * score.hours] as HalfHour).airC;
      const before = at(told, now.startMs + score.hours * hour);
      const after = at(told, now.startMs + score.hours * hour + halfHour);
      score.error += Math.abs(truth - (before.airC + after.airC) / 2);
      score.persistence += Math.abs(truth - now.airC);
      score.count++;
      if (truth >= (before.coldC + after.coldC) / 2 && truth <= (before.warmC + after.warmC) / 2) score.inside++;
    }
  }
  return scores.map(({ error, persistence, inside, count }) => ({
    ratio: error / persistence,
    coverage: inside / count,
  }));
}

describe("hours ahead", () => {
  it("steps by half hours on half-hour boundaries after now, as far as asked and 48 h at most", () => {
    const model = learnPlace(halfHoursOf(mondayMs, 96 * 2, sine), utc);
    const nowMs = mondayMs + 4 * day + 10 * 60_000;
    const told = hoursAhead(model, { atMs: nowMs, airC: 15 }, 3);
    expect(told.map(({ atMs }) => (atMs - mondayMs - 4 * day) / hour)).toEqual([0.5, 1, 1.5, 2, 2.5, 3]);
    expect(hoursAhead(model, { atMs: mondayMs + 4 * day, airC: 15 }, 3)[0]?.atMs).toBe(mondayMs + 4 * day + halfHour);
    expect(hoursAhead(model, { atMs: nowMs, airC: 15 }, 1000)).toHaveLength(96);
    expect(hoursAhead(model, { atMs: nowMs, airC: Number.NaN })).toEqual([]);
  });

  it("tells a constant place to stay, with a band no narrower than a sensor resolves", () => {
    const model = learnPlace(
      halfHoursOf(mondayMs, 48 * 10, () => 20),
      utc,
    );
    const told = hoursAhead(model, { atMs: mondayMs + 10 * day, airC: 20 });
    expect(told).toHaveLength(96);
    for (const { airC, coldC, warmC } of told) {
      expect(airC).toBeCloseTo(20, 9);
      expect(coldC).toBeLessThanOrEqual(19.9);
      expect(warmC).toBeGreaterThanOrEqual(20.1);
    }
  });

  it("repeats a day that is always the same, to the instant", () => {
    const model = learnPlace(halfHoursOf(mondayMs, 48 * 14, sine), utc);
    const nowMs = mondayMs + 14 * day + 7 * hour;
    for (const { atMs, airC } of hoursAhead(model, { atMs: nowMs, airC: sine(nowMs) })) {
      expect(Math.abs(airC - sine(atMs))).toBeLessThan(0.15);
    }
  });

  it("beats persistence on an invented heated room", () => {
    const [three, six] = scored(heatedRoom(mondayMs, 48 * 42, 7).room, 23, [3, 6]);
    expect(three?.ratio).toBeLessThan(0.6);
    expect(six?.ratio).toBeLessThan(0.5);
  });

  it("holds the truth in its P10–P90 band 8 times in 10 on noise around a daily course", () => {
    const coverages = [1, 2, 3].flatMap((seed) => {
      const noise = normals(seed);
      let anomaly = 0;
      const series = halfHoursOf(mondayMs, 48 * 54, (middleMs) => {
        anomaly = 0.95 * anomaly + 0.5 * noise();
        return sine(middleMs) + anomaly;
      });
      return scored(series, 53, [1, 3, 6, 12]).map(({ coverage }) => coverage);
    });
    const mean = coverages.reduce((sum, coverage) => sum + coverage, 0) / coverages.length;
    expect(mean).toBeGreaterThan(0.75);
    expect(mean).toBeLessThan(0.85);
  });

  it("keeps the last value with less than two days known, the band widening with the square root of time", () => {
    const model = learnPlace(halfHoursOf(mondayMs, 95, sine), utc);
    expect(model.habits).toBeNull();
    const nowMs = mondayMs + 2 * day;
    const told = hoursAhead(model, { atMs: nowMs, airC: 12 });
    expect(told.every(({ airC }) => airC === 12)).toBe(true);
    expect(at(told, nowMs + hour).warmC - 12).toBeCloseTo(1.28155, 5);
    expect(12 - at(told, nowMs + 4 * hour).coldC).toBeCloseTo(2 * 1.28155, 5);
  });

  it("is little moved by a power-on value, an open door and a sensor that stood still", () => {
    const clean = halfHoursOf(mondayMs, 48 * 14, sine);
    const dirty = clean.map((half, i) => {
      if (i === 100 || i === 500) return { ...half, airC: 85 };
      if (i >= 300 && i < 304) return { ...half, airC: -10 };
      return i >= 400 && i < 460 ? { ...half, airC: 15 } : half;
    });
    const now = { atMs: mondayMs + 14 * day, airC: sine(mondayMs + 14 * day) };
    const expected = hoursAhead(learnPlace(clean, utc), now, 12);
    const told = hoursAhead(learnPlace(dirty, utc), now, 12);
    for (const [i, { airC }] of told.entries()) expect(Math.abs(airC - (expected[i]?.airC ?? 0))).toBeLessThan(0.5);
  });

  it("bridges gaps of hours and days", () => {
    const gappy = halfHoursOf(mondayMs, 48 * 14, sine).filter((_, i) => i % 7 !== 0 && !(i > 200 && i < 330));
    const nowMs = mondayMs + 14 * day + 30 * hour;
    const told = hoursAhead(learnPlace(gappy, utc), { atMs: nowMs, airC: sine(nowMs) }, 12);
    for (const { atMs, airC } of told) expect(Math.abs(airC - sine(atMs))).toBeLessThan(0.3);
  });

  it("keeps a room's heated hours by the clock on the wall over a daylight-saving change", () => {
    const offsetMs = (atMs: number) => DateTime.fromMillis(atMs, { zone: "Europe/Berlin" }).offset * 60_000;
    const wall = (atMs: number) => {
      const minute = (atMs + offsetMs(atMs)) % day;
      return minute >= 7 * hour && minute < 17 * hour ? 20 : 12;
    };
    // Clocks go forward on 29 March 2026 at 01:00 UTC; now is that day's midnight.
    const nowMs = Date.UTC(2026, 2, 28, 23);
    const past = halfHoursOf(nowMs - 20 * day, 48 * 20, wall);
    const told = hoursAhead(learnPlace(past, { offsetMs }), { atMs: nowMs, airC: 12 });
    // 9:00 on the wall is 7:00 UTC by then, 5:00 on the wall is 3:00 UTC; 16:00 is 14:00, 19:00 is 17:00.
    const onThe29th = (utcHour: number) => at(told, Date.UTC(2026, 2, 29, utcHour)).airC;
    expect([3, 7, 14, 17].map(onThe29th).map(Math.round)).toEqual([12, 20, 20, 12]);
    // The edge itself: 7:00 on the wall is 5:00 UTC, an hour earlier than the days before.
    expect(onThe29th(5)).toBeCloseTo(16, 0);
  });

  it("does not pool heated and unheated days into one profile", () => {
    const { room } = heatedRoom(mondayMs, 48 * 14, 3);
    const atMs = mondayMs + 12 * day - 6 * hour; // a Friday at 18:00
    const past = room.filter(({ startMs }) => startMs < atMs);
    const now = { atMs, airC: past.at(-1)?.airC ?? 0 };
    const noon = atMs + 18 * hour;
    const truth = (room.find(({ startMs }) => startMs === noon) as HalfHour).airC;
    const known = at(hoursAhead(learnPlace(past, { ...utc, heating }), now), noon).airC;
    const pooled = at(hoursAhead(learnPlace(past, utc), now), noon).airC;
    expect(Math.abs(known - truth)).toBeLessThan(Math.abs(pooled - truth));
  });

  it("never tells NaN, a band out of order or an instant out of order, whatever the past", () => {
    const value = fc.oneof(fc.double({ min: -40, max: 125 }), fc.constantFrom(20, 85, Number.NaN, 20));
    const halves = fc.array(fc.tuple(fc.integer({ min: 0, max: 40 * 48 }), value), { minLength: 60, maxLength: 400 });
    fc.assert(
      fc.property(
        halves,
        fc.double({ min: -40, max: 125, noNaN: true }),
        fc.integer({ min: 0, max: 50 * day }),
        (past, airC, ms) => {
          const given = past.map(([index, known]) => ({ startMs: mondayMs + index * halfHour, airC: known }));
          const told = hoursAhead(learnPlace(given, { ...utc, heating }), { atMs: mondayMs + ms, airC });
          const cooled = coolingFrom(learnPlace(given, { ...utc, heating }), told, mondayMs + ms + 3 * hour);
          for (const [i, { atMs, airC: c, coldC, warmC }] of [...told, ...cooled].entries()) {
            expect(coldC <= c && c <= warmC).toBe(true);
            expect(i === 0 || i === told.length || atMs > (told[(i % told.length) - 1]?.atMs ?? 0)).toBe(true);
          }
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe("heating off early", () => {
  const { room, outdoor } = heatedRoom(mondayMs, 48 * 28, 11);
  const nowMs = mondayMs + 24 * day + 10 * hour; // a Thursday at 10:00
  const past = room.filter(({ startMs }) => startMs < nowMs);
  const now = { atMs: nowMs, airC: past.at(-1)?.airC ?? 0 };
  const outdoorPast = outdoor.filter(({ startMs }) => startMs < nowMs);

  it("learns the time constant and the distance to outdoors of an invented room (5 h, 3 K)", () => {
    const { habits } = learnPlace(past, { ...utc, heating, outdoor: outdoorPast });
    expect(habits?.cooling.learned).toBe(true);
    expect(habits?.cooling.timeConstantHours).toBeGreaterThan(4);
    expect(habits?.cooling.timeConstantHours).toBeLessThan(6);
    expect(habits?.cooling.aboveOutdoorK).toBeGreaterThan(2.5);
    expect(habits?.cooling.aboveOutdoorK).toBeLessThan(3.5);
  });

  it("relaxes from the instant on towards outdoors, with the band carried along", () => {
    const model = learnPlace(past, { ...utc, heating, outdoor: outdoorPast });
    const ahead = hoursAhead(model, now);
    const offAtMs = nowMs + 2 * hour;
    const flat = [{ atMs: nowMs, airC: 2, coldC: 2, warmC: 2 }];
    const cooled = coolingFrom(model, ahead, offAtMs, flat);
    const off = at(ahead, offAtMs);
    const { timeConstantHours, aboveOutdoorK } = model.habits?.cooling ?? { timeConstantHours: 0, aboveOutdoorK: 0 };
    const rest = 2 + aboveOutdoorK;
    expect(cooled.slice(0, 4)).toEqual(ahead.slice(0, 4));
    const inFourHours = at(cooled, offAtMs + 4 * hour);
    expect(inFourHours.airC).toBeCloseTo(rest + (off.airC - rest) * Math.exp(-4 / timeConstantHours), 9);
    const usual = at(ahead, offAtMs + 4 * hour);
    expect(inFourHours.warmC - inFourHours.coldC).toBeCloseTo(usual.warmC - usual.coldC, 9);
  });

  it("takes 5 h and the coldest usual temperature where nothing better is known, and is never warmer than without", () => {
    const model = learnPlace(past, utc);
    const ahead = hoursAhead(model, now);
    const cooled = coolingFrom(model, ahead, nowMs + hour);
    expect(model.habits?.cooling).toMatchObject({ timeConstantHours: 5, learned: false });
    const coldestC = model.habits?.cooling.coldestC ?? 0;
    const off = at(ahead, nowMs + hour).airC;
    expect(at(cooled, nowMs + 3 * hour).airC).toBeCloseTo(coldestC + (off - coldestC) * Math.exp(-2 / 5), 9);
    for (const [i, { airC }] of cooled.entries()) expect(airC).toBeLessThanOrEqual(ahead[i]?.airC ?? 0);
  });
});
