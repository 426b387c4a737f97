/** Views of an invented shop, as full as they come, for walls that no predictor feeds. */
import type { Climate, CoatView, Overview, PlaceView, Shop, Verdict, Warning } from "../../predictor/serve/api.ts";
import { exampleCoat, exampleStage, minutes } from "../../web/parts/example-coat.ts";
import type { Language } from "../../words/words.ts";

export const nowMs = minutes(95);
const iso = (ms: number) => new Date(ms).toISOString();

export const shopIn = (language: Language): Shop => ({
  id: "walls",
  name: language === "de" ? "Erfundener Betrieb" : "Invented shop",
  invented: true,
  address: "http://shop.example:8080",
  language,
  timeZone: "Etc/UTC",
  units: { temperature: "C", clock: "24h" },
  dim: { from: "20:00", to: "06:00" },
});

const current = (value: number) => ({ value, at: iso(nowMs - 4_000), sensor: "probe", currentForSeconds: 60 });
export const airOf = (airC: number, rhPercent: number, panelC: number | null): Climate => ({
  airC: current(airC),
  rhPercent: current(rhPercent),
  panelC: panelC === null ? null : current(panelC),
  airSpeedMps: null,
  dewPointC: 8.4,
  dewMarginC: (panelC ?? airC) - 8.4,
});

const cars = ["Blue hatch", "Grey van", "Red coupé", "White pick-up", "Green estate", "Black saloon"];
const panels = [["front door left"], ["bonnet", "front wing left"], ["roof"], ["sliding door right"], ["tailgate"]];
const kinds = ["clearcoat", "surfacer", "basecoat"];

/** A coat on another car for each number; every third is ready to be checked, every fourth has a window that closes. */
export function coatOf(n: number): CoatView {
  const at = 100 + ((n * 17) % 90);
  const coat = exampleCoat(
    `coat-${n}`,
    [
      exampleStage("touch-dry", "ready", 30, 34),
      exampleStage("dust-free", "ready", 48, 53),
      n % 3 === 2 ? exampleStage("sand", "check first", 90, 101) : exampleStage("sand", "not yet", at, at + 12),
      exampleStage("demask", "not yet", at + 40, at + 60),
      exampleStage("full-cure", "not yet", 3000, 3900),
    ],
    n % 4 === 1 ? [["closing", 40, 108]] : [],
  );
  const kind = kinds[n % kinds.length] ?? "clearcoat";
  coat.carId = `car-${n}`;
  coat.job = `J-${300 + n}`;
  coat.car = cars[n % cars.length] ?? "";
  coat.panels = panels[n % panels.length] ?? [];
  coat.sheet = { ...coat.sheet, name: `Invented ${kind}`, kind };
  coat.caution = "Film only: isocyanate can be free for days. Mask and gloves on for sanding, polishing and touching.";
  for (const window of coat.prediction?.windows ?? []) window.for = "clearcoat without sanding";
  return coat;
}

export const coatsOf = (count: number, from = 0) => Array.from({ length: count }, (_, n) => coatOf(from + n));

export const warningOf = (place: string, urgency: Warning["urgency"], part: Partial<Warning> = {}): Warning => ({
  id: `${place}-${urgency}`,
  rule: "window-closing",
  place,
  alsoAt: [],
  urgency,
  text: "Grey van, bonnet: the window shuts at 09:48",
  consequence: "After that it must be sanded.",
  action: "Lay the clearcoat now",
  until: null,
  since: iso(nowMs - 60_000),
  coatId: null,
  carId: null,
  state: "open",
  answer: null,
  setAside: null,
  ...part,
});

export function placeWith(part: Partial<PlaceView>, language: Language = "en"): PlaceView {
  return {
    shop: shopIn(language),
    place: { id: "booth", name: language === "de" ? "Kabine 1" : "Booth 1", kind: "booth" },
    asOf: iso(nowMs),
    climate: airOf(20.4, 52, 19.1),
    verdict: { state: "spray", reason: "All within the limits of Invented clearcoat.", sheets: ["Invented clearcoat"] },
    coats: [],
    warnings: [],
    hoursAhead: null,
    startBy: [],
    pots: [],
    ...part,
  };
}

const placeNames: Record<Language, string[]> = {
  en: ["Booth 1", "Booth 2", "Prep bay", "Workshop", "Yard", "Mixing room", "Drying room", "Store"],
  de: ["Kabine 1", "Kabine 2", "Vorbereitung", "Werkstatt", "Hof", "Mischraum", "Trockenraum", "Lager"],
};
const states: Verdict["state"][] = ["spray", "do not spray", "spray with care", "no verdict", "no verdict", "spray"];

/** As many places as asked for, each another: coats, verdict, warning. */
export function overviewOf(count: number, language: Language = "en"): Overview {
  return {
    shop: shopIn(language),
    asOf: iso(nowMs),
    places: Array.from({ length: count }, (_, n) => {
      const state = states[n % states.length] ?? "spray";
      const id = `place-${n}`;
      return {
        place: { id, name: placeNames[language][n] ?? id, kind: n < 2 ? "booth" : "prep" },
        climate: airOf(20.4 - n, 52 + n, n % 2 === 0 ? 19.1 - n : null),
        verdict: {
          state,
          reason: "Panel 2.1 °C over the dew point; the sheet asks for 3 °C.",
          sheets: state === "no verdict" ? [] : ["Invented clearcoat"],
        },
        coats: coatsOf([2, 1, 0, 3, 1, 0][n % 6] ?? 0, n * 2),
        warning: n === 1 ? warningOf(id, "now") : n === 3 ? warningOf(id, "soon") : null,
        openWarnings: n === 1 ? 2 : n === 3 ? 1 : 0,
      };
    }),
  };
}
