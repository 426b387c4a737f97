import { describe, expect, it } from "vitest";
import { wordsOf } from "../../words/words.ts";
import { inventedSheets } from "../records/library.ts";
import { verdictOf as verdictTextOf } from "./verdict.ts";

const metric = wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });
const verdictOf = (...[air, sheets, words = metric]: [...Parameters<typeof verdictTextOf>, typeof metric?]) => {
  const { reason, ...verdict } = verdictTextOf(air, sheets);
  return { ...verdict, reason: words.say(reason) };
};
const sheets = inventedSheets();
const named = (...ids: string[]) => sheets.filter((sheet) => ids.includes(sheet.id));
const good = { airC: 21, rhPercent: 50, panelC: 21, dewPointC: 10.2 };
const booth = named("demo-clear", "demo-water-base");

describe("the spray verdict", () => {
  it("says spray when everything is inside the limits", () => {
    expect(verdictOf(good, booth).state).toBe("spray");
  });

  it("says with care, and which sheet not, when only some sheets are out of their limits", () => {
    expect(verdictOf({ ...good, rhPercent: 72 }, booth)).toMatchObject({
      state: "spray with care",
      reason: "Not Invented activated basecoat, waterborne: humidity 72 %, at most 70 %.",
    });
  });

  it("says do not spray when every sheet is out of its limits", () => {
    expect(verdictOf({ ...good, airC: 13.04 }, booth)).toMatchObject({
      state: "do not spray",
      reason: "Not now: air temperature 13 °C, at least 15 °C.",
    });
  });

  it("says do not spray when the panel is less than 3 °C above the dew point, whatever the sheets say", () => {
    expect(verdictOf({ ...good, panelC: 16.9, dewPointC: 14 }, named("demo-clear"))).toMatchObject({
      state: "do not spray",
      reason: "Not now: dew-point margin 2.9 °C, at least 3 °C.",
    });
  });

  it("says with care when a limit is close", () => {
    expect(verdictOf({ ...good, rhPercent: 73 }, named("demo-clear"))).toMatchObject({
      state: "spray with care",
      reason: "Close to the limit: humidity 73 %, at most 75 %.",
    });
  });

  it("gives no verdict without a current temperature or humidity, or without a sheet", () => {
    expect(verdictOf({ ...good, airC: null }, booth)).toMatchObject({
      state: "no verdict",
      reason: expect.stringContaining("air temperature"),
    });
    expect(verdictOf({ ...good, rhPercent: null }, booth)).toMatchObject({
      state: "no verdict",
      reason: expect.stringContaining("humidity"),
    });
    expect(verdictOf(good, []).state).toBe("no verdict");
  });

  it("never says spray when a figure is no number", () => {
    expect(verdictOf({ ...good, airC: Number.NaN }, booth).state).toBe("do not spray");
    expect(verdictOf({ ...good, rhPercent: Number.NaN }, booth).state).toBe("do not spray");
  });

  it("speaks Fahrenheit where the shop does, differences without the offset", () => {
    const american = wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "F", clock: "12h" } });
    expect(verdictOf({ ...good, airC: 10 }, booth, american).reason).toBe(
      "Not now: air temperature 50 °F, at least 59 °F.",
    );
    expect(american.difference(3)).toBe("5.4 °F");
    expect(american.time(Date.parse("2026-03-02T15:05:00Z"))).toBe("3:05 pm");
  });
});
