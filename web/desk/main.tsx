import "../style/base.css";
import "../style/rail.css";
import "./desk.css";
import { chosenLanguage } from "../parts/device-memory.ts";
import { openPage } from "../parts/open-page.tsx";
import { App } from "./app.tsx";

void openPage(chosenLanguage(), <App />);
