import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { bootId, Clock, type ClockOptions } from "./clock.ts";
import { isBelieved } from "./readings.ts";

const logger = pino({ level: "silent" });
let folder: string;
let timesyncFolder: string;
let wallMs: number;
let monotonicMs: number;
const clocks: Clock[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-clock-"));
  timesyncFolder = join(folder, "timesync");
  wallMs = Date.UTC(2026, 2, 28, 23);
  monotonicMs = 5_000;
});

afterEach(() => {
  for (const clock of clocks.splice(0)) clock.stop();
  rmSync(folder, { recursive: true });
});

async function start(options: Partial<ClockOptions> = {}): Promise<Clock> {
  const clock = new Clock({
    trusted: false,
    logger,
    timesyncFolder,
    kernelState: async () => "unknown",
    wallMs: () => wallMs,
    monotonicMs: () => monotonicMs,
    ...options,
  });
  await clock.start();
  clocks.push(clock);
  return clock;
}

function pass(ms: number): void {
  wallMs += ms;
  monotonicMs += ms;
}

const timesync = (synchronised: boolean) => {
  mkdirSync(timesyncFolder, { recursive: true });
  if (synchronised) writeFileSync(join(timesyncFolder, "synchronized"), "");
};
const said = (atMs: number, believed = true) => ({ at: new Date(atMs).toISOString(), believed });

describe("whether a clock is believed", () => {
  it("goes by the time service of systemd where it is at work", async () => {
    timesync(false);
    const clock = await start({ kernelState: async () => "synchronised" });
    expect(clock.state()).toBe("unsynchronised");
    expect(clock.instantOf(monotonicMs)).toBeNull();
    timesync(true);
    expect(clock.state()).toBe("synchronised");
    expect(clock.instantOf(monotonicMs)).toBe(wallMs);
  });

  it.each(["synchronised", "unsynchronised", "unknown"] as const)(
    "goes by the kernel's flag elsewhere: %s",
    async (said) => {
      expect((await start({ kernelState: async () => said })).state()).toBe(said);
    },
  );

  it("goes by the installer's word where no service vouches for the clock", async () => {
    timesync(false);
    const clock = await start({ trusted: true });
    expect(clock.state()).toBe("trusted");
    expect(clock.instantOf(monotonicMs)).toBe(wallMs);
    timesync(true);
    expect(clock.state()).toBe("synchronised");
  });

  it("believes all but a clock that is known to be unset or has just jumped", () => {
    expect((["synchronised", "by predictor", "trusted", "unknown"] as const).every(isBelieved)).toBe(true);
    expect((["unsynchronised", "jumped"] as const).some(isBelieved)).toBe(false);
  });
});

describe("moments and instants", () => {
  it("dates a moment from before the synchronisation rightly afterwards", async () => {
    timesync(false);
    const clock = await start();
    const rightMs = wallMs;
    wallMs = Date.UTC(1970, 0, 1, 0, 0, 9);
    const moment = clock.monotonicMs();
    expect(clock.instantOf(moment)).toBeNull();
    pass(90_000);
    wallMs = rightMs + 90_000;
    timesync(true);
    expect(clock.instantOf(moment)).toBe(rightMs);
  });

  it("makes no two moments one instant when the program is interrupted between its looks at the two clocks", async () => {
    timesync(true);
    let interruptMs = 0;
    const clock = await start({
      wallMs: () => {
        pass(interruptMs);
        interruptMs = 0;
        return Math.floor(wallMs);
      },
    });
    const instants: number[] = [];
    for (let n = 0; n < 300; n += 1) {
      const dueMs = monotonicMs + 5;
      interruptMs = n % 3 === 0 ? 5 : 0;
      instants.push(clock.instantOf(monotonicMs) ?? Number.NaN);
      pass(Math.max(0, dueMs - monotonicMs));
    }
    expect(new Set(instants).size).toBe(instants.length);
  });

  it("keeps to what it knows while every look at the two clocks is interrupted, and sees a jump all the same afterwards", async () => {
    timesync(true);
    let interruptMs = 0;
    const clock = await start({
      wallMs: () => {
        pass(interruptMs);
        return wallMs;
      },
    });
    const offsetMs = wallMs - monotonicMs;
    expect(clock.instantOf(monotonicMs)).toBe(monotonicMs + offsetMs);
    for (interruptMs = 3; interruptMs < 60; interruptMs += 7) {
      const moment = monotonicMs;
      expect(clock.instantOf(moment)).toBe(moment + offsetMs);
    }
    wallMs += 3_600_000;
    const moment = monotonicMs;
    expect(clock.instantOf(moment)).toBe(moment + offsetMs);
    interruptMs = 0;
    expect(clock.state()).toBe("jumped");
    interruptMs = 3;
    expect(clock.state()).toBe("jumped");
    pass(61_000);
    interruptMs = 0;
    expect(clock.instantOf(monotonicMs)).toBe(wallMs);
  });

  it("follows a clock that is slewed", async () => {
    timesync(true);
    const clock = await start();
    for (let n = 0; n < 100; n += 1) {
      pass(1_000);
      wallMs += 400;
      expect(Math.abs((clock.instantOf(monotonicMs) ?? Number.NaN) - wallMs)).toBeLessThan(2);
    }
  });

  it.each([
    ["forward", 3_600_000],
    ["back", -7_200_000],
  ])("gives no instants for a minute after the clock was set %s, then those of the new time", async (_, byMs) => {
    timesync(true);
    const clock = await start();
    clock.instantOf(monotonicMs);
    pass(1_000);
    wallMs += byMs;
    expect(clock.state()).toBe("jumped");
    const moment = clock.monotonicMs();
    const instantMs = wallMs;
    pass(59_000);
    expect(clock.instantOf(moment)).toBeNull();
    pass(2_000);
    expect(clock.instantOf(moment)).toBe(instantMs);
    expect(clock.state()).toBe("synchronised");
  });

  it("keeps the old time when a jump is taken back", async () => {
    timesync(true);
    const clock = await start();
    clock.instantOf(monotonicMs);
    wallMs += 600_000;
    expect(clock.state()).toBe("jumped");
    pass(20_000);
    wallMs -= 600_000;
    expect(clock.instantOf(monotonicMs)).toBe(wallMs);
  });

  it("starts the minute anew when the clock jumps on", async () => {
    timesync(true);
    const clock = await start();
    clock.instantOf(monotonicMs);
    wallMs += 600_000;
    clock.state();
    pass(50_000);
    wallMs += 600_000;
    expect(clock.state()).toBe("jumped");
    pass(50_000);
    expect(clock.state()).toBe("jumped");
    pass(11_000);
    expect(clock.state()).toBe("synchronised");
  });

  it("knows nothing of local time: the hour that summer time skips is an hour like any other", async () => {
    timesync(true);
    const clock = await start();
    const before = process.env.TZ;
    process.env.TZ = "Europe/Berlin";
    try {
      const fromMs = clock.instantOf(monotonicMs) ?? Number.NaN;
      pass(4 * 3_600_000);
      expect((clock.instantOf(monotonicMs) ?? Number.NaN) - fromMs).toBe(4 * 3_600_000);
      expect(clock.state()).toBe("synchronised");
    } finally {
      if (before === undefined) delete process.env.TZ;
      else process.env.TZ = before;
    }
  });
});

describe("the predictor's time", () => {
  it("serves a machine whose own clock is not set, by the message that was least delayed", async () => {
    timesync(false);
    const clock = await start();
    const rightMs = wallMs;
    wallMs = 0;
    for (const delayMs of [900, 40, 300]) {
      expect(clock.state()).toBe("unsynchronised");
      monotonicMs = 10_000 + delayMs;
      clock.heard(said(rightMs + 5_000));
    }
    expect(clock.state()).toBe("by predictor");
    expect(clock.instantOf(5_000)).toBe(rightMs - 40);
  });

  it("is not taken from a predictor that does not believe its own clock", async () => {
    timesync(false);
    const clock = await start();
    for (let n = 0; n < 5; n += 1) clock.heard(said(wallMs, false));
    expect(clock.state()).toBe("unsynchronised");
  });

  it("is good for an hour after the last message", async () => {
    timesync(false);
    const clock = await start();
    for (let n = 0; n < 3; n += 1) clock.heard(said(wallMs));
    pass(59 * 60_000);
    expect(clock.state()).toBe("by predictor");
    pass(2 * 60_000);
    expect(clock.state()).toBe("unsynchronised");
  });

  it("gives way to this machine's own time service", async () => {
    timesync(false);
    const clock = await start();
    for (let n = 0; n < 3; n += 1) clock.heard(said(wallMs + 4_000));
    expect(clock.instantOf(monotonicMs)).toBe(wallMs + 4_000);
    timesync(true);
    expect(clock.instantOf(monotonicMs)).toBe(wallMs);
  });
});

it("names this boot of the machine the same each time it is asked", () => {
  expect(bootId()).toMatch(/^[0-9a-f-]{36}$/);
  expect(bootId()).toBe(bootId());
});
