import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { Clock } from "./clock.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-clock-"));
});
afterEach(() => rmSync(folder, { recursive: true }));

describe("Clock.state", () => {
  it("is unknown where the time service left no folder", () => {
    expect(new Clock(join(folder, "timesync")).state()).toBe("unknown");
  });

  it("is unsynchronised until the time service says otherwise, and follows it without a restart", () => {
    const timesync = join(folder, "timesync");
    mkdirSync(timesync);
    const clock = new Clock(timesync);
    expect(clock.state()).toBe("unsynchronised");
    writeFileSync(join(timesync, "synchronized"), "");
    expect(clock.state()).toBe("synchronised");
  });
});
