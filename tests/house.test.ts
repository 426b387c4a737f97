/** The rules of the house are kept by the linter: each is shown here to bite, on a little house of faults. */
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";

const root = resolve(import.meta.dirname, "..");
const importOf = (path: string) => `import type { X } from "${path}";\nexport type Y = X;\n`;

const arrowsUp: Record<string, string> = {
  "predictor/air/up.ts": "../cure/sheet.ts",
  "predictor/cure/up.ts": "../readings/store.ts",
  "predictor/cure/outside.ts": "../../collector/readings.ts",
  "predictor/readings/up.ts": "../follow/follow.ts",
  "predictor/records/up.ts": "../follow/follow.ts",
  "predictor/export/up.ts": "../follow/follow.ts",
  "predictor/follow/up.ts": "../warnings/rules.ts",
  "predictor/warnings/up.ts": "../serve/api.ts",
  "collector/up.ts": "../predictor/shop-file.ts",
  "web/wall/inside.ts": "../../predictor/follow/follow.ts",
};
const arrowsDown: Record<string, string> = {
  "predictor/follow/down.ts": "../records/records.ts",
  "predictor/cure/down.ts": "../air/humidity.ts",
  "predictor/export/down.ts": "../records/log.ts",
  "predictor/readings/down.ts": "../../collector/readings.ts",
  "web/wall/contract.ts": "../../predictor/serve/api.ts",
};
const house: Record<string, string> = {
  ...Object.fromEntries(Object.entries({ ...arrowsUp, ...arrowsDown }).map(([file, path]) => [file, importOf(path)])),
  "predictor/one.ts": importOf("./other.ts").replace("X", "Y as X"),
  "predictor/other.ts": importOf("./one.ts").replace("X", "Y as X"),
  "predictor/floating.ts":
    "export async function work(): Promise<void> {}\nexport function start(): void {\n  work();\n}\n",
  "predictor/anything.ts": "export function take(x: any): void {\n  x();\n}\n",
  "predictor/long.ts": Array.from({ length: 320 }, (_, n) => `export const line${n} = ${n};\n`).join(""),
  "predictor/otherStyle.ts": "export const name = 1;\n",
};

const folder = mkdtempSync(join(tmpdir(), "coatclock-house-"));
let findings: string[] = [];

beforeAll(() => {
  const { vcs: _, $schema: __, ...rules } = JSON.parse(readFileSync(join(root, "biome.json"), "utf8"));
  writeFileSync(join(folder, "biome.json"), JSON.stringify(rules));
  for (const [file, text] of Object.entries(house)) {
    mkdirSync(dirname(join(folder, file)), { recursive: true });
    writeFileSync(join(folder, file), text);
  }
  const biome = join(root, "node_modules/@biomejs/biome/bin/biome");
  const args = [biome, "lint", "--reporter=github", "--max-diagnostics=200", "."];
  findings = spawnSync(process.execPath, args, { cwd: folder, encoding: "utf8" }).stdout.split("\n");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const isFound = (rule: string, file: string) =>
  findings.some((line) => line.includes(rule) && line.includes(`/${file},`));

it.each(Object.entries(arrowsUp))("an arrow up is refused, for types too: %s to %s", (file) => {
  expect(isFound("noRestrictedImports", file)).toBe(true);
});

it.each(Object.entries(arrowsDown))("an arrow down is allowed: %s to %s", (file) => {
  expect(isFound("noRestrictedImports", file)).toBe(false);
});

it.each([
  ["a cycle, for types too,", "noImportCycles", "predictor/one.ts"],
  ["a promise that nobody waits for", "noFloatingPromises", "predictor/floating.ts"],
  ["any", "noExplicitAny", "predictor/anything.ts"],
  ["a file of more than 300 lines", "noExcessiveLinesPerFile", "predictor/long.ts"],
  ["a file name in another style", "useFilenamingConvention", "predictor/otherStyle.ts"],
])("%s is found", (_what, rule, file) => {
  expect(isFound(rule, file)).toBe(true);
});
