import { describe, expect, it } from "vitest";
import { wordsOf } from "../../../words/words.ts";
import { shopClock } from "../../parts/shop-clock.ts";
import { editableFields, instantOf, localOf, writtenFields } from "./entry-fields.ts";

const timeZone = "Europe/Berlin";
const words = wordsOf({ language: "en", timeZone, units: { temperature: "C", clock: "24h" } });
const clock = shopClock(timeZone, words);
const nowMs = Date.parse("2026-03-02T12:00:00Z");
const places = [{ id: "booth-1", name: "Booth 1", kind: "booth" as const }];

describe("writtenFields", () => {
  it("writes what was entered in the reader's words, by the shop's clock, without what only programs need", () => {
    const body = {
      id: "abcdefghijklmnopqrstuv",
      panels: ["front door left", "roof"],
      finishedAt: "2026-03-02T09:42:17.000Z",
      place: "booth-1",
      filmUm: 52.5,
      ready: false,
      promisedAt: null,
      batches: [{ component: "hardener", batch: "B7" }],
    };
    const written = writtenFields(body, { words, clock, places, sheets: [], nowMs });
    expect(written.map(({ name, text }) => `${name}: ${text}`)).toEqual([
      "panels: front door left, roof",
      "finished: 10:42",
      "place: Booth 1",
      "dry film, µm: 52.50",
      "ready: no",
      "promised: –",
      "batches: hardener B7",
    ]);
  });
});

describe("editableFields", () => {
  it("offers texts, figures, instants, places and sheets, and leaves everything else as it is", () => {
    const body = {
      job: "4711",
      place: "booth-1",
      at: "2026-03-02T09:42:17.000Z",
      litres: 0.5,
      stage: "sand",
      panels: ["x"],
      id: "y",
    };
    expect(editableFields(body).map(({ field, kind }) => `${field} ${kind}`)).toEqual([
      "job text",
      "place place",
      "at instant",
      "litres number",
    ]);
  });
});

describe("an instant in a field of date and time", () => {
  it("is by the shop's clock, in winter and in summer, and comes back as it was", () => {
    expect(localOf("2026-03-02T09:42:00Z", clock)).toBe("2026-03-02T10:42");
    expect(instantOf("2026-03-02T10:42", clock)).toBe("2026-03-02T09:42:00.000Z");
    expect(localOf("2026-07-02T08:42:00Z", clock)).toBe("2026-07-02T10:42");
    expect(instantOf("2026-07-02T10:42", clock)).toBe("2026-07-02T08:42:00.000Z");
  });
  it("is right within hours of a change of the clocks", () => {
    // Berlin, 29 March 2026: 01:59 winter time is followed by 03:00 summer time, at 01:00 UTC.
    expect(instantOf("2026-03-29T01:30", clock)).toBe("2026-03-29T00:30:00.000Z");
    expect(instantOf("2026-03-29T03:30", clock)).toBe("2026-03-29T01:30:00.000Z");
  });
  it("is null for an empty field", () => {
    expect(instantOf("", clock)).toBeNull();
  });
});
