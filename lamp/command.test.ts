import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Command } from "./command.ts";

let folder: string;
const inFolder = (name: string) => join(folder, name);

function program(text: string): Command {
  const path = inFolder("a buzzer's program; false");
  writeFileSync(path, `#!/bin/sh\n${text}\n`);
  chmodSync(path, 0o755);
  return new Command(path);
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-command-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

describe("Command", () => {
  it("runs the program with one argument, on or off, and with no shell between", async () => {
    const command = program(`echo "$# $1" >> "$(dirname "$0")/calls"`);
    await command.apply(true);
    await command.apply(false);
    expect(readFileSync(inFolder("calls"), "utf8")).toBe("1 on\n1 off\n");
  });

  it("says how it failed, with the first line of what it said", async () => {
    await expect(program("echo no relay >&2; echo more >&2; exit 3").apply(true)).rejects.toThrow(
      /ended with 3: no relay$/,
    );
  });

  it("says that there is no such program, or that it may not be run", async () => {
    await expect(new Command(inFolder("none")).apply(true)).rejects.toThrow("ENOENT");
    writeFileSync(inFolder("plain"), "#!/bin/sh\n");
    await expect(new Command(inFolder("plain")).apply(true)).rejects.toThrow("EACCES");
  });

  it("ends a program that hangs after five seconds, with all that it started", async () => {
    const command = program(`sleep 1000 & echo $! > "$(dirname "$0")/child"; wait`);
    const startMs = performance.now();
    await expect(command.apply(true)).rejects.toThrow("did not end within 5 s");
    expect(performance.now() - startMs).toBeLessThan(9_000);
    const child = Number(readFileSync(inFolder("child"), "utf8"));
    await vi.waitFor(() => expect(isRunning(child)).toBe(false), { timeout: 5_000, interval: 20 });
  });

  it("does not wait for what a program leaves running", async () => {
    const command = program(`sleep 30 & echo $! > "$(dirname "$0")/child"`);
    const startMs = performance.now();
    await command.apply(true);
    expect(performance.now() - startMs).toBeLessThan(4_000);
    process.kill(Number(readFileSync(inFolder("child"), "utf8")), "SIGKILL");
  });
});

/** Whether it runs; one that has ended and waits to be buried does not. */
function isRunning(pid: number): boolean {
  const status = `/proc/${pid}/status`;
  return existsSync(status) && !/^State:\s+Z/m.test(readFileSync(status, "utf8"));
}
