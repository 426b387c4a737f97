/** On fake programs of both kinds of libgpiod, and on the real gpioset where it is installed: its chip does not exist. */
import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build } from "vite";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { FakeGpio } from "../tests/faults/fake-gpioset.ts";
import { Line } from "./line.ts";
import type { LineSettings } from "./settings.ts";

const patience = { timeout: 10_000, interval: 10 };
/** A program that was started has been heard of before it has set its line. */
const levelIs = (level: string, offset: number, chip?: string) =>
  vi.waitFor(() => expect(gpio?.level(offset, chip)).toBe(level), patience);

let folder: string;
let gpio: FakeGpio | undefined;
let line: Line;
let gone: string[];

function lineOf(settings: Partial<LineSettings> = {}): Line {
  gone = [];
  line = new Line({ chip: "gpiochip0", offset: 17, activeLow: false, ...settings }, (reason) => gone.push(reason));
  return line;
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-line-"));
});
afterEach(async () => {
  await line.release();
  gpio?.remove();
  gpio = undefined;
  rmSync(folder, { recursive: true, force: true });
});

/** A program that holds the line until it is ended, from the code as it is here. */
async function agentHolding(): Promise<string> {
  const source = join(folder, "agent.ts");
  const line = JSON.stringify(join(import.meta.dirname, "line.ts"));
  writeFileSync(
    source,
    `import { Line } from ${line};
     await new Line({ chip: "gpiochip0", offset: 17, activeLow: false }, () => undefined).apply(true);
     console.log("held");
     setInterval(() => undefined, 1_000);`,
  );
  const output = { entryFileNames: "agent.mjs" };
  await build({
    configFile: false,
    logLevel: "error",
    build: { ssr: source, outDir: join(folder, "built"), target: "node20", rolldownOptions: { output } },
  });
  return join(folder, "built", "agent.mjs");
}

describe.each([1, 2] as const)("Line with gpioset %d", (version) => {
  it("holds each level by a process of its own until it is released", async () => {
    gpio = new FakeGpio(version);
    lineOf();
    await line.apply(false);
    const first = gpio.holder(17);
    await line.apply(true);
    expect(gpio.holder(17)).not.toBe(first);
    expect(() => process.kill(first, 0)).toThrow("ESRCH");
    await line.release();
    expect(gpio.levels(17)).toEqual(["low", "released", "high", "released"]);
    expect(gone).toEqual([]);
  });

  it("is on at the low level where the board wants that", async () => {
    gpio = new FakeGpio(version);
    lineOf({ activeLow: true });
    await line.apply(true);
    await line.apply(false);
    expect(gpio.levels(17)).toEqual(["low", "released", "high"]);
  });

  it("finds a chip by its label, also when the chip's number has changed", async () => {
    gpio = new FakeGpio(version, { gpiochip0: "other", gpiochip4: "pinctrl-test" });
    lineOf({ chip: "pinctrl-test" });
    await line.apply(true);
    await levelIs("high", 17, "gpiochip4");
    gpio.label({ gpiochip4: "other", gpiochip0: "pinctrl-test" });
    gpio.killHolder(17, "gpiochip4");
    await vi.waitFor(() => expect(gone).toHaveLength(1), patience);
    await line.apply(true);
    await levelIs("high", 17, "gpiochip0");
  });

  it.each([
    [{ gpiochip0: "other" }, "no GPIO chip is labelled pinctrl-test; gpiodetect lists them"],
    [
      { gpiochip0: "pinctrl-test", gpiochip1: "pinctrl-test" },
      "more than one GPIO chip is labelled pinctrl-test; gpiodetect lists them",
    ],
  ])("refuses a label that does not name one chip: %j", async (chips: Record<string, string>, words) => {
    gpio = new FakeGpio(version, chips);
    await expect(lineOf({ chip: "pinctrl-test" }).apply(true)).rejects.toThrow(words);
  });

  it("says in gpioset's words why a line cannot be had, and has it when it can", async () => {
    gpio = new FakeGpio(version);
    const words = "gpioset: error setting the GPIO line values: Device or resource busy";
    gpio.refuse(words);
    await expect(lineOf().apply(true)).rejects.toThrow(words);
    gpio.refuse(null);
    await line.apply(true);
    await levelIs("high", 17);
  });

  it("tells when the process that held the line has died", async () => {
    gpio = new FakeGpio(version);
    await lineOf().apply(true);
    gpio.killHolder(17);
    await vi.waitFor(() => expect(gone).toEqual(["gpioset ended with SIGKILL"]), patience);
  });

  it("leaves no process that holds the line behind when we are killed", async () => {
    gpio = new FakeGpio(version);
    const agent = spawn(process.execPath, [await agentHolding()], { stdio: ["ignore", "pipe", "inherit"] });
    await once(agent.stdout, "data");
    const holder = gpio.holder(17);
    agent.kill("SIGKILL");
    await vi.waitFor(() => expect(() => process.kill(holder, 0)).toThrow("ESRCH"), patience);
    await levelIs("released", 17);
    lineOf();
  });
});

describe("Line", () => {
  it("says which package to install where there is no gpioset", async () => {
    const path = process.env.PATH;
    process.env.PATH = "/nowhere";
    try {
      await expect(lineOf().apply(true)).rejects.toThrow("gpioset is missing: install the Debian package gpiod");
    } finally {
      process.env.PATH = path;
    }
  });

  it.skipIf(spawnSync("gpioset", ["--version"]).error !== undefined).each([true, false])(
    "is understood by the gpioset that is installed: it only misses the chip (active low: %s)",
    async (activeLow) => {
      const chip = "gpiochip999";
      await expect(lineOf({ chip, activeLow }).apply(true)).rejects.toThrow(
        /No such file or directory|cannot find GPIO chip/,
      );
    },
  );
});
