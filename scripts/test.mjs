/** npm test: installs and builds what is missing, Debian packages included, checks the code and runs every test. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build, install, root, run } from "./prepare.mjs";

install();
run("bash", ["scripts/debian-packages.sh"]);
build();

const only = process.argv.slice(2);
if (only.length === 0) run("npm", ["run", "--silent", "check"]);

const folder = mkdtempSync(join(tmpdir(), "coatclock-test-"));
const report = join(folder, "report.json");
const args = [
  "node_modules/vitest/vitest.mjs",
  "run",
  "--reporter=default",
  "--reporter=json",
  `--outputFile.json=${report}`,
];
const { status } = spawnSync(process.execPath, [...args, ...only], {
  cwd: root,
  stdio: ["ignore", "inherit", "inherit"],
});
try {
  const { numPassedTests, numFailedTests, numPendingTests } = JSON.parse(readFileSync(report, "utf8"));
  console.log(`${numPassedTests} passed, ${numFailedTests} failed, ${numPendingTests} skipped`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}
process.exit(status ?? 1);
