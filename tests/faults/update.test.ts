/** Update and roll-back over a tree of releases, with real processes and stand-ins for systemctl and curl. */
import { spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdirSync, readdirSync, readlinkSync, symlinkSync } from "node:fs";
import { basename, join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { FolderMachine, hardware } from "./folder-machine.ts";

let machine: FolderMachine;
beforeEach(() => {
  machine = new FolderMachine();
});
afterEach(() => machine.stop());

describe("update.sh", () => {
  // A copy of the project, just enough for a name and units; the builds of it lie ready, so that nothing is compiled.
  beforeEach(() => {
    const source = machine.at("source");
    mkdirSync(join(source, "hardware"), { recursive: true });
    for (const name of ["steps.sh", "update.sh", "units"]) {
      cpSync(join(hardware, name), join(source, "hardware", name), { recursive: true });
    }
    machine.write("source/package.json", '{\n  "name": "coatclock",\n  "version": "1.2.3"\n}\n');
    const wants = machine.at("etc/systemd/system/multi-user.target.wants");
    mkdirSync(wants, { recursive: true });
    for (const unit of ["coatclock.service", "coatclock-collector@far.service"]) {
      symlinkSync(`../${unit}`, join(wants, unit));
    }
    // A service is a process that sleeps in the release's folder. One whose release has a file `broken` ends at once.
    machine.program(
      "systemctl",
      `echo "$*" >>"${machine.at("systemctl.log")}"
mkdir -p "${machine.at("run")}"
case $1 in
  restart)
    before=$(cat "${machine.at("run")}/$2" 2>/dev/null || echo 0)
    if [ "$before" -gt 0 ]; then kill "$before"; fi # 0 would be a whole process group
    cd -P "${machine.at("opt/coatclock/current")}"
    if [ -e broken ]; then echo 0 >"${machine.at("run")}/$2"; else (exec sleep 600 >/dev/null 2>&1) & echo $! >"${machine.at("run")}/$2"; fi ;;
  show) cat "${machine.at("run")}/\${!#}" 2>/dev/null || echo 0 ;;
esac
`,
    );
    // /api/health of a predictor that runs: it says what its release's package.json says, or what a file `says` there says.
    machine.program(
      "curl",
      `pid=$(cat "${machine.at("run/coatclock.service")}")
[ "$pid" -gt 0 ] || exit 7
cd -P "/proc/$pid/cwd"
echo "{\\"state\\":\\"ok\\",\\"versions\\":{\\"coatclock\\":\\"$(cat says 2>/dev/null || cat VERSION)\\",\\"node\\":\\"v20\\"}}"
`,
    );
    machine.program("journalctl", 'echo "its last words"\n');
  });

  /** A change to the source, and the release that would be built from it. */
  function release(change: string, files: Record<string, string> = {}): string {
    machine.write("source/change.txt", change);
    const { stdout } = spawnSync(
      "bash",
      ["-c", `. "$0"; release_name "$1"`, join(hardware, "steps.sh"), machine.at("source")],
      {
        encoding: "utf8",
        env: { ...process.env, COATCLOCK_NODE: process.execPath },
      },
    );
    const name = stdout.trim();
    const folder = `opt/coatclock/releases/${name}`;
    cpSync(machine.at("source"), machine.at(folder), { recursive: true });
    for (const [file, text] of Object.entries({ VERSION: name, RELEASE: name, ...files }))
      machine.write(`${folder}/${file}`, text);
    return name;
  }
  const update = (...args: string[]) =>
    machine.run(machine.at("source/hardware/update.sh"), args, { COATCLOCK_PATIENCE: "1", COATCLOCK_SETTLE: "0.2" });
  const current = () => basename(readlinkSync(machine.at("opt/coatclock/current")));
  const setCurrent = (name: string) => symlinkSync(`releases/${name}`, machine.at("opt/coatclock/current"));
  const folderOf = (unit: string) => basename(readlinkSync(`/proc/${Number(machine.read(`run/${unit}`))}/cwd`));

  it("names a release by its content: the same source the same, a changed one another", () => {
    const first = release("a");
    expect(first).toMatch(/^1\.2\.3\+[0-9a-f]{10}$/);
    expect(release("b")).not.toBe(first);
    expect(release("a")).toBe(first);
  });

  it("switches to the new release and shows by the processes that each part runs it", () => {
    setCurrent(release("a"));
    const next = release("b");
    const { status, stdout, stderr } = update();
    expect(stderr).toBe("");
    expect(stdout).toContain(
      `coatclock.service runs ${next}: shown by the folder its process works in and by /api/health.`,
    );
    expect(stdout).toContain(`coatclock-collector@far.service runs ${next}`);
    expect(status).toBe(0);
    expect(current()).toBe(next);
    expect([folderOf("coatclock.service"), folderOf("coatclock-collector@far.service")]).toEqual([next, next]);
    expect(existsSync(machine.at("etc/systemd/system/coatclock.service.d/hardened.conf"))).toBe(true);
  });

  it.each([
    ["does not stay up", { broken: "" }],
    ["answers with another version than its own", { says: "1.2.3+0000000000" }],
  ])("goes back and says so when the new release %s", (_what, files) => {
    const first = release("a");
    setCurrent(first);
    const next = release("b", files);
    const { status, stderr } = update();
    expect(stderr).toContain("its last words");
    expect(stderr).toContain(`${next} did not run; ${first} runs again.`);
    expect(status).toBe(1);
    expect(current()).toBe(first);
    expect(folderOf("coatclock.service")).toBe(first);
  });

  it("rolls back release by release, and says when there is none before", () => {
    const [first, second, third] = [release("a"), release("b"), release("c")];
    for (const [n, name] of [first, second, third].entries()) {
      spawnSync("touch", ["-d", `2026-01-0${n + 1}`, machine.at("opt/coatclock/releases", name, "RELEASE")]);
    }
    setCurrent(third);
    expect(update("--back").status).toBe(0);
    expect(current()).toBe(second);
    expect(update("--back").status).toBe(0);
    expect([current(), folderOf("coatclock.service")]).toEqual([first, first]);
    const { status, stderr } = update("--back");
    expect(stderr).toMatch(/no release before/);
    expect(status).toBe(2);
    expect(current()).toBe(first);
  });

  it("does not roll back to a release that did not run, and removes it with the next update", () => {
    const first = release("a");
    setCurrent(first);
    const failing = release("b", { broken: "" });
    expect(update().status).toBe(1);
    const third = release("c");
    expect(update().status).toBe(0);
    expect(update("--list").stdout).toMatch(new RegExp(`^${third.replaceAll(/[.+]/g, "\\$&")}`));
    expect(update("--back").status).toBe(0);
    expect(current()).toBe(first);
    expect(readdirSync(machine.at("opt/coatclock/releases"))).not.toContain(failing);
  });

  it("keeps three releases", () => {
    const old = ["a", "b", "c"].map((change) => release(change));
    for (const [n, name] of old.entries()) {
      spawnSync("touch", ["-d", `2026-01-0${n + 1}`, machine.at("opt/coatclock/releases", name, "RELEASE")]);
    }
    setCurrent(old[2] ?? "");
    const next = release("d");
    expect(update().status).toBe(0);
    expect(readdirSync(machine.at("opt/coatclock/releases")).sort()).toEqual([...old.slice(1), next].sort());
  });

  it("touches nothing with --check", () => {
    const first = release("a");
    setCurrent(first);
    const next = release("b");
    expect(update("--check").stdout).toContain(`Switch from ${first} to ${next}`);
    expect(current()).toBe(first);
    expect(existsSync(machine.at("systemctl.log"))).toBe(false);
  });

  it("refuses where Coatclock is not installed", () => {
    const { status, stderr } = update();
    expect(stderr).toMatch(/not installed here/);
    expect(status).toBe(2);
  });
});
