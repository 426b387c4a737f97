/**
 * A GPIO line as a drive, through the kernel's character device. The kernel gives a line back when the process that asked
 * for it ends, so one holds it for as long as it is switched: libgpiod's `gpioset` (Debian package gpiod), 1.x or 2.x.
 */
import { type ChildProcess, type ExecFileException, execFile, spawn } from "node:child_process";
import { setTimeout as delay } from "node:timers/promises";
import { promisify } from "node:util";
import { firstLine } from "./command.ts";
import type { LineSettings } from "./settings.ts";
import type { Drive } from "./switch.ts";

const run = promisify(execFile);
const toolTimeoutMs = 5_000;
/** gpioset says nothing when it has set a line; it ends at once when it cannot. Assumed to be known after this long. */
const settleMs = 200;
/** How long gpioset has to end by itself. */
const farewellMs = 1_000;

interface Holder {
  process: ChildProcess;
  /** Why it ended, in words. */
  ended: Promise<string>;
}

export class Line implements Drive {
  readonly #settings: LineSettings;
  readonly #gone: (reason: string) => void;
  #holder: Holder | null = null;
  /** What gpioset is called with before the value; found out anew after each failure. */
  #call: readonly string[] | null = null;

  /** `gone` is told when a line that was held is held no more, and why. */
  constructor(settings: LineSettings, gone: (reason: string) => void) {
    this.#settings = settings;
    this.#gone = gone;
  }

  async apply(on: boolean): Promise<void> {
    try {
      this.#call ??= await callOf(this.#settings);
      await this.release();
      await this.#hold(this.#call, on);
    } catch (error) {
      this.#call = null;
      throw error;
    }
  }

  async release(): Promise<void> {
    const holder = this.#holder;
    this.#holder = null;
    if (holder === null) return;
    holder.process.kill("SIGTERM");
    const patience = setTimeout(() => holder.process.kill("SIGKILL"), farewellMs);
    await holder.ended;
    clearTimeout(patience);
  }

  async #hold(call: readonly string[], on: boolean): Promise<void> {
    // With us gone, even by SIGKILL, the kernel ends the holder too: no lamp stays on by itself, no line stays taken.
    const args = ["--pdeathsig", "TERM", "gpioset", ...call, `${this.#settings.offset}=${on ? 1 : 0}`];
    // A process group of its own, so that Ctrl-C at the keyboard leaves it to us to switch off first.
    const child = spawn("setpriv", args, { stdio: ["ignore", "ignore", "pipe"], detached: true });
    let words = "";
    child.stderr.setEncoding("utf8").on("data", (text: string) => {
      words = (words + text).slice(0, 1_000);
    });
    const ended = new Promise<string>((resolve) => {
      child.once("error", (error) => resolve(inWords(error, "setpriv", "util-linux")));
      child.once("close", (code, signal) => resolve(firstLine(words) || `gpioset ended with ${code ?? signal}`));
    });
    const reason = await Promise.race([ended, delay(settleMs, null)]);
    if (reason !== null) throw new Error(reason);
    const holder = { process: child, ended };
    this.#holder = holder;
    void ended.then((why) => {
      if (this.#holder !== holder) return;
      this.#holder = null;
      this.#call = null;
      this.#gone(why);
    });
  }
}

/** The options of the gpioset that is installed, for this line. 1.x ends at once unless told to wait for a signal. */
async function callOf({ chip, activeLow }: LineSettings): Promise<string[]> {
  const version = /\bv(\d+)\.\d/.exec(await tool("gpioset", ["--version"]))?.[1];
  if (version === undefined) throw new Error("gpioset --version is not understood");
  const name = await chipNameOf(chip);
  return version === "0" || version === "1"
    ? ["--mode=signal", ...(activeLow ? ["--active-low"] : []), name]
    : ["--consumer", "coatclock", ...(activeLow ? ["--active-low"] : []), "--chip", name];
}

/** gpioset 2.x knows chips by number and name only, so a label is looked up: `gpiochip0 [pinctrl-rp1] (54 lines)`. */
async function chipNameOf(chip: string): Promise<string> {
  if (/^gpiochip\d+$/.test(chip)) return chip;
  const lines = (await tool("gpiodetect", [])).split("\n");
  const names = lines.flatMap((line) => {
    const { name, label } = /^(?<name>gpiochip\d+) \[(?<label>.*)\] \(/.exec(line)?.groups ?? {};
    return name !== undefined && label === chip ? [name] : [];
  });
  if (names.length === 1 && names[0] !== undefined) return names[0];
  throw new Error(
    `${names.length === 0 ? "no" : "more than one"} GPIO chip is labelled ${chip}; gpiodetect lists them`,
  );
}

async function tool(name: string, args: readonly string[]): Promise<string> {
  try {
    return (await run(name, args, { timeout: toolTimeoutMs })).stdout;
  } catch (error) {
    throw new Error(inWords(error as ExecFileException, name, "gpiod"));
  }
}

function inWords(error: ExecFileException, program: string, debianPackage: string): string {
  if (error.code === "ENOENT") return `${program} is missing: install the Debian package ${debianPackage}`;
  return firstLine(error.stderr ?? "") || `${program}: ${firstLine(error.message)}`;
}
