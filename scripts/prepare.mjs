/** What every command needs first: the packages of the lock file, and compiled code that is not older than its source. */
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";

export const root = resolve(import.meta.dirname, "..");

/** Runs a command with its output on standard error, so that standard output stays the program's own; ends this one when it fails. */
export function run(command, args, environment = {}) {
  const result = spawnSync(command, args, {
    cwd: root,
    stdio: ["ignore", 2, 2],
    env: { ...process.env, ...environment },
  });
  if (result.status !== 0) {
    console.error(`\n${command} ${args.join(" ")} failed${result.error ? `: ${result.error.message}` : ""}.`);
    process.exit(result.status ?? 1);
  }
}

function hashOf(files) {
  const hash = createHash("sha256");
  for (const file of files)
    hash
      .update(file)
      .update("\0")
      .update(readFileSync(join(root, file)))
      .update("\0");
  return hash.digest("hex");
}

function stamped(stampFile, hash) {
  const file = join(root, stampFile);
  return existsSync(file) && readFileSync(file, "utf8") === hash;
}

/** Installs the packages of package-lock.json unless just those are installed. */
export function install() {
  const [major, minor] = process.versions.node.split(".").map(Number);
  if (!(major > 20 || (major === 20 && minor >= 19))) {
    console.error(`Coatclock needs Node 20.19 or newer; this is ${process.version}.`);
    process.exit(1);
  }
  const stamp = "node_modules/.installed-from";
  const hash = hashOf(["package-lock.json"]) + process.version;
  if (stamped(stamp, hash)) return;
  console.error("Installing packages (a few minutes the first time; the database is compiled on this machine) …");
  run("npm", ["ci", "--no-audit", "--no-fund"]);
  writeFileSync(join(root, stamp), hash);
}

const sourceFolders = [
  "collector",
  "lamp",
  "predictor",
  "web",
  "words",
  "tests/bench",
  "tests/figures",
  "tests/load",
  "tests/soak",
];
const sourceFiles = [
  "main.ts",
  "at-the-machine.ts",
  "command-line.ts",
  "package.json",
  "package-lock.json",
  "tsconfig.json",
  "tsconfig.build.json",
  "vite.config.ts",
];

/** Every file that the build is made from. */
export function sources() {
  const found = sourceFolders.flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => join(entry.parentPath, entry.name).slice(root.length + 1)),
  );
  return [...sourceFiles, ...found].sort();
}

/** Compiles unless dist/ was made from just these sources. */
export function build() {
  const hash = hashOf(sources());
  if (stamped("dist/.built-from", hash)) return;
  console.error("Building …");
  run(process.execPath, ["scripts/build.mjs"]);
  writeFileSync(join(root, "dist/.built-from"), hash);
}
