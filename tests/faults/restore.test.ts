/** The way back: a copy of a running program's data, in an empty folder, is the same shop. */
import { spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterEach, expect, it } from "vitest";
import { airOf, shopFileOf } from "../journeys/phone-hands.ts";
import { type Program, startProgram } from "../journeys/program.ts";

const root = resolve(import.meta.dirname, "../..");
const minuteMs = 60_000;
const shopFile = shopFileOf("restored");
const programs: Program[] = [];
const folder = mkdtempSync(join(tmpdir(), "coatclock-restore-"));
afterEach(async () => {
  for (const program of programs.splice(0)) await program.stop();
  rmSync(folder, { recursive: true, force: true });
});

async function start(restored?: string): Promise<Program> {
  const program = await startProgram(shopFile, (dataFolder) => {
    if (restored !== undefined) cpSync(restored, dataFolder, { recursive: true });
  });
  programs.push(program);
  return program;
}

function run(args: string[], dataFolder?: string): string {
  const env = { ...process.env, ...(dataFolder === undefined ? {} : { COATCLOCK_DATA: dataFolder }) };
  const { status, stdout, stderr } = spawnSync(process.execPath, args, { encoding: "utf8", env });
  expect(stdout + stderr).not.toMatch(/FAULT/);
  expect(status).toBe(0);
  return stdout;
}
const verified = (dataFolder: string, ...more: string[]): string =>
  run([join(root, "dist/main.js"), "--verify", ...more], dataFolder);

/** What moves with the clock, in seconds already. */
const moving = ["asOf", "address", "curePercent", "equivalentMinutes", "next"];

/** An answer without what the clock moves: stages that are ready have their times, others their names. */
function lasting(answer: unknown): unknown {
  return JSON.parse(JSON.stringify(answer), (key, value: unknown) => {
    if (moving.includes(key)) return undefined;
    const isStage = typeof value === "object" && value !== null && "stage" in value && "state" in value;
    return isStage && value.state !== "ready" ? value.stage : value;
  });
}

it("has the same chain and gives the same answers", async () => {
  const before = await start();
  const air = await airOf(before.broker, "restored");
  await air.past(180);
  await air.end();
  const atMs = Date.now();
  const car = { job: "J-1", name: "Grey van", panels: [{ name: "bonnet", substrate: "steel" }], place: "booth" };
  const arrivedAt = new Date(atMs - 170 * minuteMs).toISOString();
  const { id } = (await before.send("POST", "/api/cars", { ...car, at: arrivedAt })) as { id: string };
  const finishedAt = new Date(atMs - 150 * minuteMs).toISOString();
  const coat = { panels: ["bonnet"], sheet: "demo-clear", finishedAt };
  const { coats } = (await before.send("POST", `/api/cars/${id}/coats`, coat)) as { coats: { id: string }[] };
  const coatPath = `/api/coats/${coats[0]?.id}`;
  await before.send("POST", `${coatPath}/checks`, { stage: "dust-free", ready: true, how: "thumb" });
  await expect.poll(() => before.get(coatPath)).toMatchObject({ prediction: { curePercent: expect.any(Number) } });

  const paths = ["/api/cars", coatPath, `/api/cars/${id}/entries`];
  const answers = await Promise.all(paths.map((path) => before.get(path)));
  const copy = join(folder, "copy");
  mkdirSync(copy);
  const runningData = join(before.folder, "data");
  run([join(root, "hardware/backup-copy.mjs"), "copy", runningData, copy]);
  const head = /the last is (\S+);/.exec(verified(copy))?.[1] ?? "";
  expect(head).toMatch(/^\d+:[0-9a-f]{64}$/);
  verified(runningData, "--witness", head);
  await before.stop();

  const after = await start(copy);
  await expect.poll(() => after.get(coatPath)).toMatchObject({ prediction: { curePercent: expect.any(Number) } });
  const restored = await Promise.all(paths.map((path) => after.get(path)));
  expect(restored.map(lasting)).toEqual(answers.map(lasting));
  verified(join(after.folder, "data"), "--witness", head);
}, 60_000);
