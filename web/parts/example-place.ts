/** An invented booth for the tests beside this file: nothing measured, nothing in it. */
import type { PlaceView } from "../../predictor/serve/api.ts";
import { minutes } from "./example-coat.ts";

export function examplePlace(): PlaceView {
  return {
    shop: {
      id: "shop",
      name: "Invented shop",
      invented: true,
      address: "http://shop.example:8080",
      language: "en",
      timeZone: "UTC",
      units: { temperature: "C", clock: "24h" },
      dim: null,
    },
    place: { id: "booth", name: "Booth", kind: "booth" },
    asOf: new Date(minutes(0)).toISOString(),
    climate: { airC: null, rhPercent: null, panelC: null, airSpeedMps: null, dewPointC: null, dewMarginC: null },
    verdict: { state: "no verdict", reason: "No sensor.", sheets: [] },
    coats: [],
    warnings: [],
    hoursAhead: null,
    startBy: [],
    pots: [],
  };
}
