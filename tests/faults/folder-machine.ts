/** A machine in a folder, for the scripts of hardware/: its /opt, /etc and /var, and programs of our own that come first on PATH. */
import { spawnSync } from "node:child_process";
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";

export const hardware = resolve(import.meta.dirname, "../../hardware");

export const has = (program: string) => spawnSync("sh", ["-c", `command -v ${program}`]).status === 0;

export class FolderMachine {
  readonly #folder = mkdtempSync(join(tmpdir(), "coatclock-machine-"));

  constructor() {
    this.write("etc/os-release", 'ID=debian\nVERSION_ID="13"\n');
  }

  at(...path: string[]): string {
    return join(this.#folder, ...path);
  }

  read(path: string): string {
    return readFileSync(this.at(path), "utf8");
  }

  write(path: string, text: string): void {
    mkdirSync(dirname(this.at(path)), { recursive: true });
    writeFileSync(this.at(path), text);
  }

  /** A program that goes before the machine's own of this name. */
  program(name: string, text: string): void {
    this.write(`bin/${name}`, `#!/usr/bin/env bash\nset -eu\n${text}`);
    chmodSync(this.at("bin", name), 0o755);
  }

  run(script: string, args: readonly string[], environment: NodeJS.ProcessEnv = {}) {
    const { status, stdout, stderr } = spawnSync("bash", [script, ...args], {
      encoding: "utf8",
      timeout: 30_000,
      env: {
        ...process.env,
        PATH: `${this.at("bin")}:${process.env.PATH}`,
        COATCLOCK_PREFIX: this.#folder,
        COATCLOCK_NODE: process.execPath,
        ...environment,
      },
    });
    return { status, stdout, stderr };
  }

  /** Ends the processes whose numbers stand in run/, and removes everything. */
  stop(): void {
    for (const name of existsSync(this.at("run")) ? readdirSync(this.at("run")) : []) {
      endProcess(Number(this.read(`run/${name}`)));
    }
    rmSync(this.#folder, { recursive: true, force: true });
  }
}

function endProcess(pid: number): void {
  // 0 would be this test's own process group.
  if (!(pid > 0)) return;
  try {
    process.kill(pid, "SIGKILL");
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "ESRCH") throw error;
  }
}
