/** A process that is kept running, as a service manager keeps it, and killed on purpose. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";

const restartAfterMs = 300;

export interface KeptOptions {
  name: string;
  command: string;
  args: string[];
  env?: NodeJS.ProcessEnv;
  /** Gets what it prints. */
  onOutput?: (text: string) => void;
}

export class Kept {
  readonly #options: KeptOptions;
  #child: ChildProcess | null = null;
  #restarting: NodeJS.Timeout | undefined;
  #away = 1;
  /** How often it was killed on purpose. */
  kills = 0;
  /** How it ended by itself, each time. */
  readonly crashes: string[] = [];
  /** While it cannot start its ends are no crashes. */
  mayFail = false;

  constructor(options: KeptOptions) {
    this.#options = options;
    // However the soak ends, nothing is left running.
    process.on("exit", () => this.#child?.kill("SIGKILL"));
  }

  get pid(): number | undefined {
    return this.#child?.pid;
  }

  /** Starts it, unless it has been sent away again meanwhile. */
  comeBack(): void {
    this.#away -= 1;
    if (this.#away === 0) this.#start();
  }

  /** kill -9; it starts again at once. */
  async kill(): Promise<void> {
    if (await this.#end()) this.kills += 1;
    if (this.#away === 0 && this.#child === null) this.#start();
  }

  /** kill -9, and it stays away until it may come back. */
  async goAway(): Promise<void> {
    this.#away += 1;
    clearTimeout(this.#restarting);
    if (await this.#end()) this.kills += 1;
  }

  async #end(): Promise<boolean> {
    const child = this.#child;
    if (child === null) return false;
    this.#child = null;
    const gone = once(child, "exit");
    child.kill("SIGKILL");
    await gone;
    return true;
  }

  #start(): void {
    clearTimeout(this.#restarting);
    const { name, command, args, env, onOutput } = this.#options;
    const child = spawn(command, args, { env: env ?? process.env, stdio: ["ignore", "pipe", "pipe"] });
    this.#child = child;
    let complaint = "";
    child.stdout.on("data", (said: Buffer) => onOutput?.(said.toString()));
    child.stderr.on("data", (said: Buffer) => {
      complaint = (complaint + said.toString()).slice(-2_000);
    });
    child.once("exit", (code, signal) => {
      // Ended on purpose.
      if (this.#child !== child) return;
      this.#child = null;
      if (!this.mayFail) this.crashes.push(`${name} ended with ${code ?? signal}: ${complaint.trim()}`);
      if (this.#away === 0) this.#restarting = setTimeout(() => this.#start(), restartAfterMs);
    });
  }
}
