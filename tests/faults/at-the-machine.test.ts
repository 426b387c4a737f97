/** What is done at the machine itself: a forgotten PIN, and whether the records are what was entered. */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import Database from "better-sqlite3";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { shopFileOf } from "../journeys/phone-hands.ts";
import { type Program, startProgram } from "../journeys/program.ts";

const compiled = resolve(import.meta.dirname, "../../dist/main.js");
let program: Program;
beforeAll(async () => {
  program = await startProgram(shopFileOf("machine"));
  await program.send("POST", "/api/people", { name: "Paul", role: "painter", pin: "1538" });
}, 60_000);
afterAll(async () => {
  await program.stop();
});

const run = (...args: string[]) => runIn(join(program.folder, "data"), ...args);

function runIn(dataFolder: string, ...args: string[]): { status: number | null; output: string } {
  const env = { ...process.env, COATCLOCK_DATA: dataFolder };
  const { status, stdout, stderr } = spawnSync(process.execPath, [compiled, ...args], { encoding: "utf8", env });
  return { status, output: stdout + stderr };
}
const signIn = (name: string, pin: string) =>
  fetch(`${program.address}/api/sign-in`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ name, pin }),
  });

describe("a forgotten PIN", () => {
  it("is replaced while the program runs, by one to hand over", async () => {
    const { status, output } = run("--new-pin", "Paul");
    expect(status).toBe(0);
    const pin = /PIN of Paul: (\d{6})/.exec(output)?.[1] ?? "";
    expect((await signIn("Paul", "1538")).status).toBe(401);
    expect((await signIn("Paul", pin)).status).toBe(200);
  });

  it("of somebody who is not there is said so, with exit code 2", () => {
    expect(run("--new-pin", "Nobody")).toMatchObject({
      status: 2,
      output: expect.stringContaining("nobody named Nobody"),
    });
  });

  it.each(["--new-pin", "--new-installer"])("asked for by %s in another folder makes no shop there", (option) => {
    const elsewhere = join(program.folder, "elsewhere");
    mkdirSync(elsewhere, { recursive: true });
    expect(runIn(elsewhere, option, "Paul")).toMatchObject({
      status: 2,
      output: expect.stringMatching(/no records in .*elsewhere.*COATCLOCK_DATA/),
    });
    expect(readdirSync(elsewhere)).toEqual([]);
  });
});

describe("an export", () => {
  it("is made beside the running program, and says how much there is", () => {
    const folder = join(program.folder, "out");
    const { status, output } = run("--export", folder, "--from", "2026-03-01");
    expect(status).toBe(0);
    const entries = readFileSync(join(folder, "records/log.jsonl"), "utf8").trimEnd().split("\n");
    expect(output).toContain(`records/log.jsonl: ${entries.length} entries`);
    expect(output).toMatch(/readings: 0 series, 0 readings/);
    expect(existsSync(join(folder, "contents.json"))).toBe(true);
  });

  it("goes into no folder that holds something, and needs records and a span that is one", () => {
    const full = join(program.folder, "full");
    mkdirSync(full);
    writeFileSync(join(full, "mine.txt"), "mine");
    expect(run("--export", full)).toMatchObject({
      status: 2,
      output: expect.stringMatching(/expected an empty folder/),
    });
    expect(run("--export", join(full, "mine.txt")).status).toBe(2);
    expect(readdirSync(full)).toEqual(["mine.txt"]);
    const free = join(program.folder, "free");
    expect(runIn(full, "--export", free)).toMatchObject({ status: 2, output: expect.stringMatching(/COATCLOCK_DATA/) });
    expect(run("--export", free, "--from", "2026-02-30")).toMatchObject({
      status: 2,
      output: expect.stringMatching(/--from 2026-02-30: expected a date/),
    });
    expect(run("--export", free, "--from", "2026-03-02", "--to", "2026-03-02").status).toBe(2);
    expect(run("--from", "2026-03-02").status).toBe(2);
    expect(existsSync(free)).toBe(false);
  });
});

describe("the records", () => {
  it("are well, beside the running program, and by a head that was witnessed", () => {
    const { status, output } = run("--verify");
    expect(output).toMatch(/records\.db: \d+ entries; the last is \d+:[0-9a-f]{64}; all is well/);
    expect(status).toBe(0);
    const head = /the last is (\S+);/.exec(output)?.[1] ?? "";
    expect(run("--verify", "--witness", head).status).toBe(0);
    const [seq = ""] = head.split(":");
    expect(run("--verify", "--witness", `${seq}:${"0".repeat(64)}`)).toMatchObject({
      status: 3,
      output: expect.stringContaining("FAULT"),
    });
    expect(run("--verify", "--witness", "seven").status).toBe(2);
  });

  it("are not, once a letter of an entry was changed behind its back; the tables are then not made anew", () => {
    const db = new Database(join(program.folder, "data", "records.db"));
    const triggers = db.prepare<[], { name: string }>("SELECT name FROM sqlite_master WHERE type = 'trigger'").all();
    for (const { name } of triggers) db.exec(`DROP TRIGGER ${name}`);
    db.exec(
      `UPDATE log SET entry = replace(entry, '"Paul"', '"Pual"') WHERE entry LIKE '%person-added%' AND entry LIKE '%Paul%'`,
    );
    db.close();
    const { status, output } = run("--verify");
    expect(status).toBe(3);
    expect(output).toMatch(/FAULT.*entry \d+/i);
    expect(run("--verify", "--rebuild").status).not.toBe(0);
  });
});
