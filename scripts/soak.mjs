/** npm run soak: the tests of faults at full length, each process killed 200 times and 100,000 packs and as many requests garbled. Takes an hour or so. */
import { spawnSync } from "node:child_process";
import { build, install, root, run } from "./prepare.mjs";

install();
run("bash", ["scripts/debian-packages.sh"]);
build();
const { status } = spawnSync(process.execPath, ["node_modules/vitest/vitest.mjs", "run", "tests/faults"], {
  cwd: root,
  stdio: ["ignore", "inherit", "inherit"],
  env: { ...process.env, COATCLOCK_KILLS: "200", COATCLOCK_FUZZ: "100000" },
});
process.exit(status ?? 1);
