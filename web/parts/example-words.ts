/** Words and clock of an invented shop for the tests beside this file. */
import { type Language, wordsOf } from "../../words/words.ts";
import { type ShopClock, shopClock } from "./shop-clock.ts";

export function exampleClock(
  language: Language = "en",
  timeZone = "UTC",
  units: { temperature: "C" | "F"; clock: "24h" | "12h" } = { temperature: "C", clock: "24h" },
): ShopClock {
  return shopClock(timeZone, wordsOf({ language, timeZone, units }));
}
