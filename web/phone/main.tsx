import { render } from "preact";
import "../style/base.css";
import "../style/rail.css";
import "./car-list.css";
import "./what-if.css";
import { CarList } from "./car-list.tsx";

const page = document.getElementById("page");
if (page !== null) render(<CarList />, page);
