import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import { beforeEach, describe, expect, it, vi } from "vitest";
import { type Drive, Switch } from "./switch.ts";

const times = { retryMs: 40, soundMs: 120 };
const patience = { timeout: 5_000, interval: 5 };

let done: string[];
let logged: string[];
let atOnce: number;
let mostAtOnce: number;
let slowMs: number;
let fault: string | null;
let tellGone: (reason: string) => void;

const drive: Drive = {
  async apply(on) {
    atOnce += 1;
    mostAtOnce = Math.max(mostAtOnce, atOnce);
    await delay(slowMs);
    atOnce -= 1;
    if (fault !== null) throw new Error(fault);
    done.push(on ? "on" : "off");
  },
  async release() {
    done.push("released");
  },
};
const logger = pino({ level: "info" }, { write: (line: string) => logged.push(JSON.parse(line).msg) });
const open = () =>
  new Switch(
    (gone) => {
      tellGone = gone;
      return drive;
    },
    logger,
    times,
  );

beforeEach(() => {
  done = [];
  logged = [];
  atOnce = 0;
  mostAtOnce = 0;
  slowMs = 0;
  fault = null;
});

describe("Switch", () => {
  it("begins with off, follows what is wanted, and ends with off and letting go", async () => {
    const its = open();
    await vi.waitFor(() => expect(its.state()).toBe("off"), patience);
    its.set(true);
    expect(its.state()).toBe("switching");
    await vi.waitFor(() => expect(its.state()).toBe("on"), patience);
    await its.stop();
    expect(done).toEqual(["off", "on", "off", "released"]);
  });

  it("never makes two attempts at once, and skips wishes that were overtaken", async () => {
    slowMs = 30;
    const its = open();
    for (let n = 0; n < 9; n += 1) its.set(n % 2 === 0);
    await vi.waitFor(() => expect(its.state()).toBe("on"), patience);
    await its.stop();
    expect(done).toEqual(["off", "on", "off", "released"]);
    expect(mostAtOnce).toBe(1);
  });

  it("says what hinders it, once, tries again at intervals, and says when it works again", async () => {
    fault = "no chip";
    const its = open();
    const tries = vi.spyOn(drive, "apply");
    await vi.waitFor(() => expect(tries.mock.calls.length).toBeGreaterThanOrEqual(3), patience);
    expect(its.state()).toBe("failed: no chip");
    expect(logged).toEqual(["an output cannot be switched; trying again"]);
    fault = null;
    await vi.waitFor(() => expect(its.state()).toBe("off"), patience);
    expect(logged).toEqual(["an output cannot be switched; trying again", "the output can be switched again"]);
    tries.mockRestore();
    await its.stop();
  });

  it("takes back what has gone after the interval, not at once", async () => {
    const its = open();
    its.set(true);
    await vi.waitFor(() => expect(done).toEqual(["off", "on"]), patience);
    tellGone("ended with SIGKILL");
    const goneMs = performance.now();
    expect(its.state()).toBe("failed: ended with SIGKILL");
    await vi.waitFor(() => expect(done).toEqual(["off", "on", "on"]), patience);
    expect(performance.now() - goneMs).toBeGreaterThanOrEqual(times.retryMs - 5);
    await its.stop();
  });

  it("stops while it fails, and lets go all the same", async () => {
    fault = "no chip";
    const its = open();
    await vi.waitFor(() => expect(its.state()).toBe("failed: no chip"), patience);
    await its.stop();
    expect(done).toEqual(["released"]);
    its.set(true);
    await delay(2 * times.retryMs);
    expect(done).toEqual(["released"]);
  });

  it("stops in the middle of switching on: off comes last", async () => {
    slowMs = 30;
    const its = open();
    its.set(true);
    await vi.waitFor(() => expect(done).toEqual(["off"]), patience);
    await its.stop();
    expect(done).toEqual(["off", "on", "off", "released"]);
  });
});
