/** An installer's own program as a drive: run with one argument, `on` or `off`, without a shell. */
import { spawn } from "node:child_process";
import type { Drive } from "./switch.ts";

const timeoutMs = 5_000;
/** Of what it says about its failure. */
const longestWords = 200;

export class Command implements Drive {
  readonly #path: string;

  constructor(path: string) {
    this.#path = path;
  }

  /** Settles within about five seconds: a program that hangs is ended then, with all that it started. */
  async apply(on: boolean): Promise<void> {
    // A process group of its own, so that what it started can be ended with it.
    const child = spawn(this.#path, [on ? "on" : "off"], { stdio: ["ignore", "ignore", "pipe"], detached: true });
    let words = "";
    child.stderr.setEncoding("utf8").on("data", (text: string) => {
      if (words.length < longestWords) words += text;
    });
    let isLate = false;
    const timer = setTimeout(() => {
      isLate = true;
      if (child.pid !== undefined) endGroup(child.pid);
    }, timeoutMs);
    try {
      const ending = await new Promise<string>((resolve) => {
        child.once("error", (error) => resolve(error.message));
        // Not `close`: something it left behind may hold its error output open.
        child.once("exit", (code, signal) => resolve(code === 0 ? "" : `ended with ${code ?? signal}`));
      });
      if (isLate) throw new Error(`${this.#path} did not end within ${timeoutMs / 1000} s`);
      if (ending !== "") throw new Error([`${this.#path} ${ending}`, firstLine(words)].filter(Boolean).join(": "));
    } finally {
      clearTimeout(timer);
      child.stderr.destroy();
    }
  }

  /** There is nothing to let go of. */
  async release(): Promise<void> {}
}

function endGroup(pid: number): void {
  try {
    process.kill(-pid, "SIGKILL");
  } catch {
    // It has just ended by itself.
  }
}

/** What a program said about its failure, short enough for a line of the log. */
export function firstLine(text: string): string {
  return text.trim().split("\n", 1)[0]?.slice(0, longestWords) ?? "";
}
