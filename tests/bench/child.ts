/** Processes that are measured from outside. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { readFileSync } from "node:fs";
import { createServer } from "node:net";
import { setTimeout as delay } from "node:timers/promises";

/** Starts a process, waits until `ready` makes something of its output, and ends the process after it. */
export async function withChild<T>(
  args: string[],
  environment: Record<string, string>,
  ready: (output: string, child: ChildProcess) => Promise<T> | null,
): Promise<T> {
  const child: ChildProcess = spawn(process.execPath, args, {
    env: { ...process.env, ...environment },
    stdio: ["ignore", "pipe", "inherit"],
  });
  try {
    let output = "";
    child.stdout?.on("data", (chunk: Buffer) => {
      output += chunk.toString();
    });
    for (let tries = 0; tries < 2_000; tries++) {
      const answer = ready(output, child);
      if (answer !== null) return await answer;
      await delay(5);
    }
    throw new Error(`no address in: ${output}`);
  } finally {
    const gone = once(child, "exit");
    child.kill("SIGKILL");
    await gone;
  }
}

/** Resident memory of a process in MB, as Linux counts it. */
export function residentMB(pid: number | undefined): number {
  const [, kB] = /VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, "utf8")) ?? [];
  return Number(kB) / 1024;
}

export async function freePort(): Promise<number> {
  const server = createServer();
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  await new Promise<void>((resolve) => server.close(() => resolve()));
  if (address === null || typeof address === "string") throw new Error("no port");
  return address.port;
}
