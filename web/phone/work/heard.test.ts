import { describe, expect, it } from "vitest";
import type { Notice } from "../../../predictor/serve/api.ts";
import { leadsTo, nothingHeard, withNotice, without } from "./heard.ts";

const notice = (id: string): Notice => ({
  id,
  at: "2026-11-25T10:00:00Z",
  kind: "warning",
  urgency: "now",
  text: "Window closing",
  action: "Overcoat",
  warningId: null,
  coatId: null,
  carId: null,
  count: 1,
});

describe("notices on a phone", () => {
  it("stand once each, the newest first, two at a time", () => {
    const heard = ["a", "b", "a", "c"].map(notice).reduce(withNotice, nothingHeard);
    expect(heard.shown.map(({ id }) => id)).toEqual(["c", "b"]);
  });

  it("do not come back once put away", () => {
    const heard = without(withNotice(nothingHeard, notice("a")), "a");
    expect(heard.shown).toEqual([]);
    expect(withNotice(heard, notice("a"))).toBe(heard);
  });

  it("remember no more than they need for weeks on end", () => {
    let heard = nothingHeard;
    for (let index = 0; index < 1000; index++) heard = withNotice(heard, notice(String(index)));
    expect(heard.known).toHaveLength(200);
  });

  it("lead to what they are about", () => {
    expect(leadsTo({ coatId: "k", carId: "c" })).toBe("/coats/k");
    expect(leadsTo({ coatId: null, carId: "c" })).toBe("/cars/c");
    expect(leadsTo({ coatId: null, carId: null })).toBe("/warnings");
  });
});
