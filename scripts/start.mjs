/** npm start: installs and builds what is missing, then runs the compiled program in this process. */
import { build, install } from "./prepare.mjs";

install();
build();
await import("../dist/main.js");
