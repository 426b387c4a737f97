import { render } from "preact";
import { isLanguage, wordsOf } from "../../words/words.ts";
import "../style/base.css";
import "../style/rail.css";
import "./wall.css";
import "./board.css";
import "./board-coats.css";
import "./overview.css";
import { WordsContext } from "../parts/words-context.ts";
import { Overview } from "./overview.tsx";
import { Wall } from "./wall.tsx";

const place = decodeURIComponent(location.pathname.split("/")[2] ?? "");
const asked = new URLSearchParams(location.search).get("language");
const chosen = isLanguage(asked) ? asked : null;
const wall = place === "" ? <Overview chosen={chosen} /> : <Wall place={place} chosen={chosen} />;
const page = document.getElementById("page");
if (page !== null) {
  // Until the shop is known, the language asked for is all that there is.
  const units = { temperature: "C", clock: "24h" } as const;
  const words = chosen && wordsOf({ language: chosen, timeZone: "UTC", units });
  render(words === null ? wall : <WordsContext.Provider value={words}>{wall}</WordsContext.Provider>, page);
}
