import { render } from "preact";
import "../style/base.css";
import "../style/rail.css";
import "./wall.css";
import "./board.css";
import "./board-coats.css";
import { Wall } from "./wall.tsx";

const page = document.getElementById("page");
const place = decodeURIComponent(location.pathname.split("/")[2] ?? "");
if (page !== null) render(<Wall place={place} />, page);
