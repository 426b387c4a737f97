import { pino } from "pino";
import { beforeEach, describe, expect, it } from "vitest";
import { Dispatcher } from "./dispatch.ts";
import { MemoryOutbox } from "./outbox.ts";
import { packDigest } from "./readings.ts";

let outbox: MemoryOutbox;
let sent: string[];
let nowMs: number;
let dispatcher: Dispatcher;
const digestOf = (payload: string) => packDigest(Buffer.from(payload));

beforeEach(() => {
  outbox = new MemoryOutbox(pino({ level: "silent" }));
  sent = [];
  nowMs = 0;
  dispatcher = new Dispatcher({
    outbox,
    send: (pack) => sent.push(pack.payload),
    receiptTimeoutMs: 10_000,
    nowMs: () => nowMs,
  });
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

  it("leaves places for live packs however long the backlog is", () => {
    dispatcher.opened();
    add("backlog", 1_000, "old");
    expect(sent).toHaveLength(48);
    add("live", 20, "new");
    expect(sent.slice(48)).toEqual(Array.from({ length: 16 }, (_, n) => `new${n}`));
  });

  it("sends a live pack before the backlog when a place becomes free", () => {
    dispatcher.opened();
    add("backlog", 100, "old");
    add("live", 17, "new");
    sent.length = 0;
    dispatcher.receipted(digestOf("old0"));
    expect(sent).toEqual(["new16"]);
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
