import "../style/base.css";
import "../style/rail.css";
import "./core/core.css";
import "./core/shell.css";
import { chosenLanguage } from "../parts/device-memory.ts";
import { openPage } from "../parts/open-page.tsx";
import { App } from "./app.tsx";
import { keepPages } from "./core/keep-pages.ts";

void openPage(chosenLanguage(), <App />);
if (import.meta.env.PROD) keepPages();
