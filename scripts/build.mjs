/** Compiles the server with tsc and the pages with Vite into dist/. */

import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { gzipSync } from "node:zlib";
import { root, run, sources } from "./prepare.mjs";

rmSync(join(root, "dist"), { recursive: true, force: true });
run(process.execPath, ["node_modules/typescript/bin/tsc", "-p", "tsconfig.build.json"]);
buildClockProbe();
run(process.execPath, ["node_modules/vite/bin/vite.js", "build", "--logLevel", "warn"]);
packPages();
for (const file of sources().filter((each) => each.startsWith("predictor/") && each.endsWith(".yaml"))) {
  mkdirSync(dirname(join(root, "dist", file)), { recursive: true });
  copyFileSync(join(root, file), join(root, "dist", file));
}

/** Once here, so that no request waits for it. */
function packPages() {
  const folder = join(root, "dist/web/assets");
  for (const name of readdirSync(folder)) {
    const file = join(folder, name);
    writeFileSync(`${file}.gz`, gzipSync(readFileSync(file), { level: 9 }));
  }
}

/** Without a compiler the program runs as well: then it asks systemd's time service alone whether the clock is right. */
function buildClockProbe() {
  const args = ["-O1", "-o", join(root, "dist/collector/clock-probe"), join(root, "collector/clock-probe.c")];
  const { status } = spawnSync("cc", args, { stdio: ["ignore", 2, 2] });
  if (status !== 0)
    console.error("no clock probe: cc could not compile it, so only systemd-timesyncd is asked about the clock");
}
