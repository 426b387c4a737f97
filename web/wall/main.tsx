import { isLanguage } from "../../words/language.ts";
import "../style/base.css";
import "../style/rail.css";
import "./wall.css";
import "./board.css";
import "./board-coats.css";
import "./overview.css";
import { openPage } from "../parts/open-page.tsx";
import { Overview } from "./overview.tsx";
import { Wall } from "./wall.tsx";

const place = decodeURIComponent(location.pathname.split("/")[2] ?? "");
const asked = new URLSearchParams(location.search).get("language");
const chosen = isLanguage(asked) ? asked : null;
void openPage(chosen, place === "" ? <Overview chosen={chosen} /> : <Wall place={place} chosen={chosen} />);
