import { IntlMessageFormat } from "intl-messageformat";
import { DateTime } from "luxon";
import { describe, expect, it } from "vitest";
import { de } from "./de.ts";
import { en, type TextKey } from "./en.ts";
import { type Text, text } from "./text.ts";
import { isLanguage, languages, wordsOf } from "./words.ts";

const shop = { timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } } as const;
const english = wordsOf({ ...shop, language: "en" });
const german = wordsOf({ ...shop, language: "de" });
const american = wordsOf({ ...shop, language: "en", units: { temperature: "F", clock: "12h" } });
const at = (iso: string) => Date.parse(iso);

/** The names in braces, those of plural arms too. */
function holes(message: string): string[] {
  const found = new Set<string>();
  const walk = (parts: ReturnType<IntlMessageFormat["getAst"]>) => {
    for (const part of parts) {
      if ("value" in part && part.type !== 0) found.add(String(part.value));
      if ("options" in part) for (const option of Object.values(part.options)) walk(option.value);
    }
  };
  walk(new IntlMessageFormat(message, "en", undefined, { ignoreTag: true }).getAst());
  return [...found].filter((name) => name !== "#" && name !== "undefined").sort();
}

describe("the catalogue", () => {
  it.each(Object.keys(en) as TextKey[])("says %s in every language, with the same figures", (key) => {
    expect(de[key].trim()).not.toBe("");
    expect(holes(de[key])).toEqual(holes(en[key]));
  });

  it("has no text that another language lacks", () => {
    expect(Object.keys(de).sort()).toEqual(Object.keys(en).sort());
    expect(languages).toEqual(["en", "de"]);
    expect(isLanguage("de")).toBe(true);
    expect(isLanguage("constructor")).toBe(false);
  });
});

describe("words", () => {
  it("write figures in the reader's language and the shop's units", () => {
    expect(english.temperature(19.54)).toBe("19.5 °C");
    expect(german.temperature(19.54)).toBe("19,5 °C");
    expect(american.temperature(19.54)).toBe("67.2 °F");
    expect(german.temperature(-3)).toBe("−3 °C");
    expect(american.difference(10)).toBe("18 °F");
    expect(german.number(-1234.5, 1)).toBe("−1.234,5");
    expect(english.number(-0.04, 1)).toBe("0.0");
  });

  it.each(["2026-03-29T00:30:00Z", "2026-03-29T01:30:00Z", "2026-10-25T00:30:00Z", "2026-07-01T22:15:00Z"])(
    "write the time of day of %s as luxon does",
    (iso) => {
      const local = DateTime.fromISO(iso, { zone: shop.timeZone });
      expect(german.time(at(iso))).toBe(local.toFormat("HH:mm"));
      expect(american.time(at(iso))).toBe(local.toFormat("h:mm a").toLowerCase());
    },
  );

  it("name the day where it is another one, and the date where that is far away", () => {
    const now = at("2026-11-25T10:00:00Z");
    expect(english.when(at("2026-11-25T11:30:00Z"), now)).toBe("12:30");
    expect(english.when(at("2026-11-26T06:00:00Z"), now)).toBe("Thu 07:00");
    expect(german.when(at("2026-11-26T06:00:00Z"), now)).toBe("Do 07:00");
    expect(german.when(at("2026-12-24T06:00:00Z"), now)).toBe("24. Dez. 07:00");
    expect(german.when(Number.NaN, now)).toBe("");
  });

  it("put figures of each kind, and texts, into a text", () => {
    const gap: Text = text("model-note.gap", {
      duration: text("duration.hours", { hours: 2.5 }),
      held: { celsius: 12 },
    });
    expect(english.say(gap)).toBe("No readings for 2.5 h. The colder end, 12 °C, is taken for all of it.");
    expect(german.say(gap)).toBe("2,5 h lang keine Messwerte. Dafür gilt das kältere Ende: 12 °C.");
  });

  it("refuse a sentence with a hole in it", () => {
    expect(() => english.t("model-note.stalled")).toThrow(/percent/);
  });

  it("know what people name in their own words, and leave what they do not know", () => {
    expect(german.named("kind", "pre-treatment")).toBe("Vorbehandlung");
    expect(german.named("kind", "underbody wax")).toBe("underbody wax");
  });
});
