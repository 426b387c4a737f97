import { render } from "preact";
import "../style/base.css";
import "../style/rail.css";
import "./core/core.css";
import "./core/shell.css";
import { App } from "./app.tsx";
import { keepPages } from "./core/keep-pages.ts";

const page = document.getElementById("page");
if (page !== null) render(<App />, page);
if (import.meta.env.PROD) keepPages();
