/**
 * npm run soak: a simulated month of the program's own processes with faults by chance; --help says its options. With --faults
 * the tests of faults at full length follow, each process killed 200 times and 100,000 packs and as many requests garbled: an hour or so more.
 */
import { spawnSync } from "node:child_process";
import { build, install, root, run } from "./prepare.mjs";

const asked = process.argv.slice(2);
install();
run("bash", ["scripts/debian-packages.sh"]);
build();

/** Runs it here; gives whether all was well. */
function isWell(args, environment = {}) {
  const { status } = spawnSync(process.execPath, args, {
    cwd: root,
    stdio: ["ignore", "inherit", "inherit"],
    env: { ...process.env, ...environment },
  });
  return status === 0;
}

const isSound = isWell(["dist/tests/soak/main.js", ...asked]);
const areFaultsMet =
  !asked.includes("--faults") ||
  isWell(["node_modules/vitest/vitest.mjs", "run", "tests/faults"], {
    COATCLOCK_KILLS: "200",
    COATCLOCK_FUZZ: "100000",
  });
process.exit(isSound && areFaultsMet ? 0 : 1);
