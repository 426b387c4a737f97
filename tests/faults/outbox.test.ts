/** The outbox on disk and kill -9 at any moment. */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { DiskOutbox } from "../../collector/outbox/disk-outbox.ts";
import { OutboxPlace } from "../outbox-place.ts";

const compiled = resolve(import.meta.dirname, "../../dist/collector/outbox/disk-outbox.js");
const writer = resolve(import.meta.dirname, "outbox-writer.mjs");
const kills = Number(process.env.COATCLOCK_KILLS ?? 20);

let place: OutboxPlace;
beforeEach(() => {
  place = new OutboxPlace();
});
afterEach(() => {
  place.close();
  place.remove();
});

const numbersIn = (outbox: DiskOutbox): number[] =>
  [...outbox.waiting("backlog"), ...outbox.waiting("live")].map(({ payload }) => JSON.parse(payload).number);
function startWriter(first: number) {
  const child = spawn(process.execPath, [writer, compiled, place.card, place.run, String(first), "100"]);
  let printed = "";
  let errors = "";
  child.stdout.on("data", (data) => {
    printed += data;
  });
  child.stderr.on("data", (data) => {
    errors += data;
  });
  const closed = once(child, "close");
  return { child, closed, printed: () => printed, errors: () => errors };
}

describe("kill -9 of the process, again and again over the same folders", () => {
  it(
    `loses no pack that was added and doubles none (${kills} times)`,
    async () => {
      const added = new Set<number>();
      const receipted = new Set<number>();
      for (let n = 0; n < kills; n += 1) {
        const { child, closed, printed, errors } = startWriter(n * 1_000_000);
        // Most are killed at work, some while they start.
        if (n % 5 !== 0) await once(child.stdout, "data");
        await delay(Math.random() * 300);
        child.kill("SIGKILL");
        await closed;
        expect(errors()).toBe("");
        for (const line of printed().split("\n")) {
          if (line.startsWith("+")) added.add(Number(line.slice(1)));
          if (line.startsWith("-")) receipted.add(Number(line.slice(1)));
        }
      }
      const outbox = place.open();
      const kept = numbersIn(outbox);
      expect(new Set(kept).size).toBe(kept.length);
      expect(outbox.packs).toBe(kept.length);
      const keptOnce = new Set(kept);
      expect([...added].filter((number) => !keptOnce.has(number) && !receipted.has(number))).toEqual([]);
      expect(kept).toEqual(kept.toSorted((a, b) => a - b));
      // Else this shows nothing.
      expect(added.size).toBeGreaterThan(10 * kills);
      expect(receipted.size).toBeGreaterThan(kills);
      expect(outbox.damage).toBeNull();
    },
    60_000 + kills * 10_000,
  );

  it("refuses a second process, and the next one finds the outbox free at once after a kill", async () => {
    const first = startWriter(0);
    await once(first.child.stdout, "data");
    const second = startWriter(1_000_000);
    await second.closed;
    expect(second.child.exitCode).toBe(1);
    expect(second.printed()).toBe("");
    expect(second.errors()).toContain("outbox-bay.db is in use by another collector of the same name");
    first.child.kill("SIGKILL");
    await first.closed;
    expect(place.open().packs).toBeGreaterThan(0);
  });
});
