import { render } from "preact";
import "../style/base.css";
import "../style/rail.css";
import "./desk.css";
import { App } from "./app.tsx";

const page = document.getElementById("page");
if (page !== null) render(<App />, page);
