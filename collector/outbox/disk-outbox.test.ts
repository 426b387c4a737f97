import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { addAll, digestOf, held, numbered, OutboxPlace, waiting } from "../../tests/outbox-place.ts";
import type { DiskOutbox } from "./disk-outbox.ts";

let place: OutboxPlace;

beforeEach(() => {
  vi.useFakeTimers();
  place = new OutboxPlace();
});
afterEach(() => {
  place.close();
  vi.useRealTimers();
  place.remove();
});

const baseTimes = (outbox: DiskOutbox) =>
  waiting(outbox, "backlog").map((payload) => JSON.parse(payload)[0].bt as number);

describe("DiskOutbox: waiting and receipts", () => {
  it("keeps packs in their order until each is removed by its digest", () => {
    const outbox = place.open();
    addAll(outbox, ["a", "b", "c"], "live");
    expect(outbox.remove(digestOf("b"))).toBe(true);
    expect(outbox.remove(digestOf("b"))).toBe(false);
    expect(waiting(outbox, "live")).toEqual(["a", "c"]);
    expect(outbox.packs).toBe(2);
  });

  it("keeps the same bytes once, whichever urgency they come with", () => {
    const outbox = place.open();
    outbox.add("a", "live");
    outbox.add("a", "live");
    outbox.add("a", "backlog");
    expect(outbox.packs).toBe(1);
  });

  it("keeps the same bytes once when they are about to be sent from the card", () => {
    const outbox = place.open();
    outbox.add("a", "live");
    place.pass(10_000);
    waiting(outbox, "backlog");
    outbox.add("a", "live");
    expect(outbox.packs).toBe(1);
  });

  it("sends bytes once from the card, though they came there twice", () => {
    const outbox = place.open();
    outbox.add("a", "live");
    place.pass(10_000);
    outbox.add("a", "live");
    place.pass(10_000);
    expect(waiting(outbox, "backlog")).toEqual(["a"]);
    expect(outbox.packs).toBe(1);
  });

  it("puts what was live among the backlog, in the order of its making, when the connection is lost", () => {
    const outbox = place.open();
    outbox.add("1", "backlog");
    outbox.add("2", "live");
    outbox.add("3", "backlog");
    outbox.demoteLive();
    outbox.add("4", "live");
    expect(waiting(outbox, "backlog")).toEqual(["1", "2", "3"]);
    expect(waiting(outbox, "live")).toEqual(["4"]);
  });

  it("lets later readings overtake what has had no receipt for ten seconds", () => {
    const outbox = place.open();
    outbox.add("old", "live");
    place.pass(10_000);
    outbox.add("new", "live");
    expect(waiting(outbox, "backlog")).toEqual(["old"]);
    expect(waiting(outbox, "live")).toEqual(["new"]);
  });

  it("knows the receipt of a pack that was handed out before it came to the card, and of one handed out from there", () => {
    const outbox = place.open();
    addAll(outbox, numbered(200));
    place.pass(10_000);
    addAll(outbox, ["late"], "live");
    waiting(outbox, "live");
    place.pass(10_000);
    expect(outbox.remove(digestOf("late"))).toBe(true);
    expect(waiting(outbox, "backlog")).toEqual(numbered(200));
    for (const payload of numbered(200)) expect(outbox.remove(digestOf(payload))).toBe(true);
    expect(outbox.packs).toBe(0);
    outbox.close();
    expect(place.open().packs).toBe(0);
  });

  it("hands everything out from the oldest on after the connection was lost, from the card and from memory", () => {
    const outbox = place.open();
    addAll(outbox, numbered(150));
    place.pass(10_000);
    addAll(outbox, ["x", "y"], "live");
    waiting(outbox, "live");
    place.pass(10_000);
    addAll(outbox, ["z"], "live");
    outbox.remove(digestOf("y"));
    outbox.demoteLive();
    expect(waiting(outbox, "backlog")).toEqual([...numbered(150), "x", "z"]);
  });

  it("refuses limits that are not positive, NaN included", () => {
    expect(() => place.open({ capacityBytes: 0 })).toThrow(RangeError);
    expect(() => place.open({ memoryBytes: Number.NaN })).toThrow(RangeError);
    expect(() => place.open({ maxAgeMs: -1 })).toThrow(RangeError);
  });

  it("refuses a second user of the same outbox by the file's name, and a next one after the first is closed", () => {
    const first = place.open();
    expect(() => place.open()).toThrow(/outbox-bay\.db is in use by another collector of the same name: stop that one/);
    expect(() => place.open({ collector: "yard" })).not.toThrow();
    first.close();
    expect(() => place.open()).not.toThrow();
  });
});

describe("DiskOutbox: the journal", () => {
  it("has what came this moment, undated packs too, and what was dated as it was dated", () => {
    const outbox = place.open();
    outbox.add("a", "backlog");
    outbox.hold(held(10));
    const run = place.copyOf("run", "run 1");
    const next = place.open({ cardFolder: join(place.folder, "card 1"), runFolder: run });
    expect(waiting(next, "backlog")).toEqual(["a"]);
    expect(next.undatedPacks).toBe(1);
    outbox.date((monotonicS) => 1_700_000_000 + monotonicS);
    const dated = place.open({ cardFolder: join(place.folder, "card 2"), runFolder: place.copyOf("run", "run 2") });
    expect(dated.undatedPacks).toBe(0);
    expect(waiting(dated, "backlog")).toEqual(waiting(outbox, "backlog"));
  });

  it("doubles nothing when the process was killed after the card's commit and before the journal's", () => {
    const outbox = place.open();
    addAll(outbox, ["a", "b"], "live");
    outbox.hold(held(10));
    place.pass(5_000);
    addAll(outbox, ["c"], "live");
    const run = place.copyOf("run", "run 1");
    place.pass(5_000);
    const card = place.copyOf("card", "card 1");
    const next = place.open({ cardFolder: card, runFolder: run });
    expect(waiting(next, "backlog")).toEqual(["a", "b", "c"]);
    expect([next.packs, next.undatedPacks]).toEqual([4, 1]);
    for (const payload of ["a", "b", "c"]) next.remove(digestOf(payload));
    next.close();
    const last = place.open({ cardFolder: card, runFolder: run });
    expect([last.packs, last.undatedPacks]).toEqual([1, 1]);
  });

  it("lets go of what is on the card or has its receipt", () => {
    const outbox = place.open();
    addAll(outbox, ["a", "b", "c"], "live");
    outbox.remove(digestOf("a"));
    place.pass(10_000);
    const next = place.open({ cardFolder: join(place.folder, "card 1"), runFolder: place.copyOf("run", "run 1") });
    expect(next.packs).toBe(0);
  });
});

describe("DiskOutbox: packs without an instant", () => {
  it("holds them until they are dated, then lets them go in order before what came later", () => {
    const outbox = place.open();
    outbox.hold(held(10));
    place.pass(10_000);
    outbox.hold(held(20));
    expect([outbox.packs, outbox.undatedPacks]).toEqual([2, 2]);
    expect(waiting(outbox, "backlog")).toEqual([]);
    outbox.date((monotonicS) => 1_700_000_000 + monotonicS);
    outbox.add(JSON.stringify(held(1_700_000_030)), "backlog");
    expect(baseTimes(outbox)).toEqual([1_700_000_010, 1_700_000_020, 1_700_000_030]);
    expect(outbox.undatedPacks).toBe(0);
    for (const { digest } of outbox.waiting("backlog")) expect(outbox.remove(digest)).toBe(true);
    expect(outbox.packs).toBe(0);
  });

  it("keeps them held where no instant can be given", () => {
    const outbox = place.open();
    outbox.hold(held(10));
    place.pass(10_000);
    outbox.hold(held(20));
    outbox.date(() => Number.NaN);
    expect(outbox.undatedPacks).toBe(2);
  });

  it("dates thousands over several calls, the oldest first", () => {
    const outbox = place.open();
    for (let n = 0; n < 5_000; n += 1) outbox.hold(held(n));
    place.pass(20_000);
    for (let n = 5_000; n < 9_000; n += 1) outbox.hold(held(n));
    outbox.date((monotonicS) => 1_700_000_000 + monotonicS);
    expect(baseTimes(outbox)).toEqual(Array.from({ length: 2_000 }, (_, n) => 1_700_000_000 + n));
    let calls = 1;
    for (; outbox.undatedPacks > 0; calls += 1) outbox.date((monotonicS) => 1_700_000_000 + monotonicS);
    expect(calls).toBeGreaterThan(2);
    expect(baseTimes(outbox)).toEqual(Array.from({ length: 9_000 }, (_, n) => 1_700_000_000 + n));
  });

  it("keeps what is in hand of the card there when older packs are dated", () => {
    const outbox = place.open();
    outbox.hold(held(10));
    outbox.add("b", "backlog");
    place.pass(10_000);
    waiting(outbox, "backlog");
    outbox.date((monotonicS) => 1_700_000_000 + monotonicS);
    expect(outbox.remove(digestOf("b"))).toBe(true);
    expect(baseTimes(outbox)).toEqual([1_700_000_010]);
  });

  it("keeps the held of this boot over a restart of the process, and those dated stay dated", () => {
    const outbox = place.open();
    outbox.hold(held(10));
    outbox.hold(held(20));
    outbox.close();
    const next = place.open();
    expect(next.undatedPacks).toBe(2);
    next.date((monotonicS) => 1_700_000_000 + monotonicS);
    next.close();
    expect(baseTimes(place.open({ bootId: "another boot" }))).toEqual([1_700_000_010, 1_700_000_020]);
  });

  it("gives up those of another boot, counts them and says so once", () => {
    const outbox = place.open();
    outbox.hold(held(10));
    outbox.add("dated", "live");
    outbox.close();
    const next = place.open({ bootId: "another boot" });
    expect([next.packs, next.undatedPacks, next.undatablePacks]).toEqual([1, 0, 1]);
    expect(place.messages.filter((message) => message.includes("their instants cannot be known"))).toHaveLength(1);
    next.close();
    expect(place.open({ bootId: "another boot" }).undatablePacks).toBe(0);
  });
});
