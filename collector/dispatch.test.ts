import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { Dispatcher } from "./dispatch.ts";
import { DiskOutbox } from "./outbox/disk-outbox.ts";
import { packDigest } from "./readings.ts";

let folder: string;
let outbox: DiskOutbox;
let sent: string[];
let nowMs: number;
let dispatcher: Dispatcher;
const digestOf = (payload: string) => packDigest(Buffer.from(payload));

beforeEach(() => {
  sent = [];
  nowMs = 0;
  folder = mkdtempSync(join(tmpdir(), "coatclock-dispatch-"));
  outbox = new DiskOutbox({
    collector: "bay",
    cardFolder: folder,
    runFolder: folder,
    bootId: "this boot",
    nowMs: () => nowMs,
    logger: pino({ level: "silent" }),
  });
  dispatcher = new Dispatcher({
    outbox,
    send: (pack) => sent.push(pack.payload),
    receiptTimeoutMs: 10_000,
    nowMs: () => nowMs,
  });
});
afterEach(() => {
  outbox.close();
  rmSync(folder, { recursive: true, force: true });
});

function add(urgency: "live" | "backlog", count: number, prefix: string): void {
  for (let n = 0; n < count; n += 1) outbox.add(`${prefix}${n}`, urgency);
  dispatcher.pump();
}

describe("Dispatcher", () => {
  it("sends nothing before a connection is open", () => {
    add("live", 3, "a");
    nowMs = 60_000;
    expect(dispatcher.resendOverdue()).toBe(0);
    expect(sent).toEqual([]);
    dispatcher.opened();
    expect(sent).toEqual(["a0", "a1", "a2"]);
  });

  it("sends again at once what had no receipt for a while, when the far end is heard after all", () => {
    dispatcher.opened();
    add("live", 2, "a");
    nowMs = 3_000;
    add("live", 1, "b");
    dispatcher.receipted(digestOf("a0"));
    dispatcher.resendUnanswered(2_000);
    expect(sent).toEqual(["a0", "a1", "b0", "a1"]);
  });

  it("leaves places for live packs however long the backlog is", () => {
    dispatcher.opened();
    add("backlog", 1_000, "old");
    expect(sent).toHaveLength(48);
    add("live", 20, "new");
    expect(sent.slice(48)).toEqual(Array.from({ length: 16 }, (_, n) => `new${n}`));
  });

  it("leaves places for the backlog however many live packs there are", () => {
    dispatcher.opened();
    add("live", 1_000, "new");
    expect(sent).toHaveLength(56);
    add("backlog", 20, "old");
    expect(sent.slice(56)).toEqual(Array.from({ length: 8 }, (_, n) => `old${n}`));
  });

  it("starves neither: each goes on at a fixed share while both come without end", () => {
    add("live", 2_000, "new");
    add("backlog", 2_000, "old");
    dispatcher.opened();
    // A predictor that answers in the order of sending.
    for (let n = 0; n < 1_000; n += 1) dispatcher.receipted(digestOf(sent[n] ?? ""));
    const answered = sent.slice(0, 1_000);
    expect(answered.filter((payload) => payload.startsWith("new")).length).toBeGreaterThan(800);
    expect(answered.filter((payload) => payload.startsWith("old")).length).toBeGreaterThan(100);
  });

  it("sends a live pack before the backlog when a place becomes free", () => {
    dispatcher.opened();
    add("backlog", 100, "old");
    add("live", 17, "new");
    sent.length = 0;
    dispatcher.receipted(digestOf("old0"));
    expect(sent).toEqual(["new16"]);
  });

  it("counts places anew over a new connection", () => {
    dispatcher.opened();
    add("live", 100, "a");
    dispatcher.lost();
    add("live", 100, "b");
    sent.length = 0;
    dispatcher.opened();
    expect(sent.filter((payload) => payload.startsWith("b"))).toHaveLength(56);
    expect(sent.filter((payload) => payload.startsWith("a"))).toHaveLength(8);
  });

  it("drains any backlog in order as receipts come", () => {
    dispatcher.opened();
    add("backlog", 500, "old");
    for (let n = 0; n < sent.length; n += 1) dispatcher.receipted(digestOf(sent[n] ?? ""));
    expect(sent).toEqual(Array.from({ length: 500 }, (_, n) => `old${n}`));
    expect(outbox.packs).toBe(0);
  });

  it("sends a pack again after 10, then 20, then every 30 seconds without a receipt", () => {
    dispatcher.opened();
    add("live", 1, "a");
    const resentAtS: number[] = [];
    for (nowMs = 0; nowMs <= 130_000; nowMs += 1_000) if (dispatcher.resendOverdue() > 0) resentAtS.push(nowMs / 1000);
    expect(resentAtS).toEqual([10, 30, 60, 90, 120]);
  });

  it("sends everything unreceipted again over a new connection, and nothing receipted", () => {
    dispatcher.opened();
    add("live", 3, "a");
    dispatcher.receipted(digestOf("a1"));
    dispatcher.lost();
    sent.length = 0;
    dispatcher.opened();
    expect(sent).toEqual(["a0", "a2"]);
  });

  it("tells a receipt for a waiting pack from a second one and from a stranger's", () => {
    dispatcher.opened();
    add("live", 1, "a");
    expect(dispatcher.receipted(digestOf("a0"))).toBe(true);
    expect(dispatcher.receipted(digestOf("a0"))).toBe(false);
    expect(dispatcher.receipted("nonsense")).toBe(false);
  });
});
