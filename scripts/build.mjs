/** Compiles the server with tsc and the pages with Vite into dist/. */
import { copyFileSync, mkdirSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import { root, run, sources } from "./prepare.mjs";

rmSync(join(root, "dist"), { recursive: true, force: true });
run(process.execPath, ["node_modules/typescript/bin/tsc", "-p", "tsconfig.build.json"]);
run(process.execPath, ["node_modules/vite/bin/vite.js", "build", "--logLevel", "warn"]);
for (const file of sources().filter((each) => each.startsWith("predictor/") && each.endsWith(".yaml"))) {
  mkdirSync(dirname(join(root, "dist", file)), { recursive: true });
  copyFileSync(join(root, file), join(root, "dist", file));
}
