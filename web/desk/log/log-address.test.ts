import { describe, expect, it } from "vitest";
import { wordsOf } from "../../../words/words.ts";
import { shopClock } from "../../parts/shop-clock.ts";
import { addressOf, askOf, queryOf, sortedBy, withFilter } from "./log-address.ts";

const timeZone = "Europe/Berlin";
const clock = shopClock(timeZone, wordsOf({ language: "en", timeZone, units: { temperature: "C", clock: "24h" } }));

describe("the address of the log", () => {
  it("holds what is asked for, and nothing that is usual", () => {
    const search = "?from=2026-03-02&car=grey+van&deviation=open&sort=car&order=up&page=3";
    expect(addressOf(askOf(search))).toBe(`/log${search}`);
    expect(addressOf(askOf(""))).toBe("/log");
    expect(addressOf(askOf("?sort=finished&order=down&page=1&panel="))).toBe("/log");
  });

  it.each(["?page=0", "?page=-1", "?page=1.5", "?page=x", "?sort=toString", "?order=sideways"])(
    "takes %s for the usual",
    (search) => expect(addressOf(askOf(search))).toBe("/log"),
  );

  it("begins on the first page with another filter or another order", () => {
    const ask = askOf("?page=4");
    expect(addressOf(withFilter(ask, "car", "7"))).toBe("/log?car=7");
    expect(addressOf(sortedBy(ask, "who"))).toBe("/log?sort=who&order=up");
    expect(addressOf(sortedBy(askOf("?sort=who&order=up"), "who"))).toBe("/log?sort=who");
    expect(addressOf(sortedBy(ask, "finished"))).toBe("/log?order=up");
    expect(addressOf(sortedBy(ask, "deviations"))).toBe("/log?sort=deviations");
  });
});

describe("the query for the predictor", () => {
  const asked = (search: string) => Object.fromEntries(queryOf(askOf(search), clock));

  it("turns the shop's days into instants, the last day included", () => {
    expect(asked("?from=2026-03-02&to=2026-03-02&page=2")).toEqual({
      sort: "finished",
      order: "down",
      from: "2026-03-01T23:00:00.000Z",
      to: "2026-03-02T23:00:00.000Z",
    });
  });

  it("keeps to the shop's midnight where the clocks change", () => {
    expect(asked("?from=2026-03-29&to=2026-03-29")).toMatchObject({
      from: "2026-03-28T23:00:00.000Z",
      to: "2026-03-29T22:00:00.000Z",
    });
    expect(asked("?from=2026-10-25&to=2026-10-25")).toMatchObject({
      from: "2026-10-24T22:00:00.000Z",
      to: "2026-10-25T23:00:00.000Z",
    });
  });

  it("leaves out what is no day and leaves the rest to be judged", () => {
    expect(asked("?from=yesterday&state=odd")).toEqual({ sort: "finished", order: "down", state: "odd" });
  });
});
