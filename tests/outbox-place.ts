/** Folders for an outbox, with a clock that the test moves and what was logged. */
import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { vi } from "vitest";
import { DiskOutbox, type DiskOutboxOptions } from "../collector/outbox/disk-outbox.ts";
import type { Urgency } from "../collector/outbox/outbox.ts";
import { packDigest } from "../collector/readings.ts";

export class OutboxPlace {
  readonly folder = mkdtempSync(join(tmpdir(), "coatclock-outbox-"));
  readonly card = join(this.folder, "card");
  readonly run = join(this.folder, "run");
  readonly messages: string[] = [];
  nowMs = 1_000_000;
  readonly #opened: DiskOutbox[] = [];

  open(options: Partial<DiskOutboxOptions> = {}): DiskOutbox {
    const outbox = new DiskOutbox({
      collector: "bay",
      cardFolder: this.card,
      runFolder: this.run,
      bootId: "this boot",
      nowMs: () => this.nowMs,
      logger: pino({ level: "warn" }, { write: (line: string) => this.messages.push(JSON.parse(line).msg) }),
      ...options,
    });
    this.#opened.push(outbox);
    return outbox;
  }

  /** With fake timers. */
  pass(ms: number): void {
    for (let passedMs = 0; passedMs < ms; passedMs += 5_000) {
      this.nowMs += 5_000;
      vi.advanceTimersByTime(5_000);
    }
  }

  /** A copy of a folder as kill -9 at this moment leaves it; without the other folder, as a power cut does. */
  copyOf(part: "card" | "run", name: string): string {
    cpSync(join(this.folder, part), join(this.folder, name), { recursive: true });
    return join(this.folder, name);
  }

  close(): void {
    for (const outbox of this.#opened) outbox.close();
  }

  remove(): void {
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** Where no file can be made, whoever tries: the folder would lie in a file. */
export const blockedFolder = "/proc/version/blocked";

export const digestOf = (payload: string) => packDigest(Buffer.from(payload));
export const waiting = (outbox: DiskOutbox, urgency: Urgency) =>
  [...outbox.waiting(urgency)].map((pack) => pack.payload);
export const numbered = (count: number, prefix = "pack ") => Array.from({ length: count }, (_, n) => `${prefix}${n}`);
export const addAll = (outbox: DiskOutbox, payloads: string[], urgency: Urgency = "backlog") => {
  for (const payload of payloads) outbox.add(payload, urgency);
};
export const held = (monotonicS: number) => [
  { bn: "bay/mast/", bt: monotonicS, n: "air-temperature", u: "Cel", v: 20 },
];
