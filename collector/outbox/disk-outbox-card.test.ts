import { existsSync, rmSync, statSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { addAll, blockedFolder, digestOf, held, numbered, OutboxPlace, waiting } from "../../tests/outbox-place.ts";

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

const cardLogBytes = () => statSync(join(place.card, "outbox-bay.db-wal")).size;
/** As the power cut leaves it: what was RAM-backed is gone. */
const loseRunFolder = () => rmSync(place.run, { recursive: true });

describe("DiskOutbox: the card", () => {
  it("is not written while every pack has its receipt in time", () => {
    const outbox = place.open();
    place.pass(10_000);
    const before = cardLogBytes();
    for (const payload of numbered(100)) {
      outbox.add(payload, "live");
      place.pass(5_000);
      outbox.remove(digestOf(payload));
    }
    expect(cardLogBytes()).toBe(before);
    outbox.add("unanswered", "live");
    place.pass(10_000);
    expect(cardLogBytes()).toBeGreaterThan(before);
  });

  it("has by itself what waited ten seconds, as after a power cut", () => {
    const outbox = place.open();
    addAll(outbox, ["a", "b"], "live");
    place.pass(10_000);
    outbox.add("too new", "live");
    const next = place.open({
      cardFolder: place.copyOf("card", "card after the cut"),
      runFolder: join(place.folder, "empty"),
    });
    expect(waiting(next, "backlog")).toEqual(["a", "b"]);
  });

  it("has all that waits after close, in order, undated packs too, and nothing that had its receipt", () => {
    const outbox = place.open();
    addAll(outbox, ["a", "b"], "live");
    place.pass(10_000);
    waiting(outbox, "backlog");
    addAll(outbox, ["c", "d"], "live");
    outbox.hold(held(5));
    for (const payload of ["a", "c"]) outbox.remove(digestOf(payload));
    outbox.close();
    loseRunFolder();
    const next = place.open();
    expect(waiting(next, "backlog")).toEqual(["b", "d"]);
    expect([next.packs, next.undatedPacks]).toEqual([3, 1]);
  });

  it("gives back the room that a long outage took", () => {
    const outbox = place.open();
    const payloads = numbered(20_000, `${"long ".repeat(40)} pack `);
    addAll(outbox, payloads);
    place.pass(60_000);
    for (const { digest } of outbox.waiting("backlog")) outbox.remove(digest);
    place.pass(10_000);
    outbox.close();
    expect(statSync(join(place.card, "outbox-bay.db")).size).toBeLessThan(100_000);
    expect(existsSync(join(place.card, "outbox-bay.db-wal"))).toBe(false);
  });

  it("drops the oldest when it is full, counts them, and says so at the start and at the end", () => {
    const bytesOfTen = 10 * ("pack 0".length + 45);
    const outbox = place.open({ capacityBytes: bytesOfTen });
    addAll(outbox, numbered(10));
    place.pass(10_000);
    expect(outbox.droppedPacks).toBe(0);
    waiting(outbox, "backlog");
    addAll(outbox, ["new a0", "new b0"]);
    place.pass(10_000);
    expect(waiting(outbox, "backlog")).toEqual([...numbered(10).slice(2), "new a0", "new b0"]);
    expect(outbox.remove(digestOf("pack 0"))).toBe(false);
    expect(outbox.droppedPacks).toBe(2);
    place.pass(16 * 60_000);
    expect(place.messages).toEqual([
      "the outbox is full: the oldest readings are being lost",
      "packs were lost; no more are being lost now",
    ]);
    outbox.close();
    expect(place.open({ capacityBytes: bytesOfTen }).packs).toBe(10);
  });

  it("drops what has waited too long, and only that", () => {
    const outbox = place.open({ maxAgeMs: 60 * 60_000 });
    outbox.add("early", "live");
    place.pass(30 * 60_000);
    outbox.add("late", "live");
    place.pass(29 * 60_000);
    expect(outbox.droppedPacks).toBe(0);
    place.pass(15 * 60_000);
    expect(waiting(outbox, "backlog")).toEqual(["late"]);
    expect(outbox.droppedPacks).toBe(1);
    expect(place.messages[0]).toMatch(/waited too long/);
  });
});

describe("DiskOutbox: a card that cannot be written", () => {
  it("keeps packs in memory up to a bound, drops the oldest backlog before live packs, and tells file and remedy", () => {
    const outbox = place.open({ cardFolder: blockedFolder, memoryBytes: 3 * 251 });
    expect(outbox.fault).toMatch(/\/blocked\/outbox-bay\.db cannot be written \(E[A-Z]+\): \w+/);
    outbox.add("1", "live");
    outbox.add("2", "backlog");
    outbox.add("3", "live");
    outbox.add("4", "live");
    expect(waiting(outbox, "backlog")).toEqual([]);
    outbox.add("5", "live");
    expect(waiting(outbox, "live")).toEqual(["3", "4", "5"]);
    expect(outbox.droppedPacks).toBe(2);
    place.pass(60_000);
    expect(place.messages.filter((message) => message.includes("cannot be written"))).toHaveLength(1);
    expect(place.messages.filter((message) => message.includes("are being lost"))).toHaveLength(1);
    outbox.close();
    expect(place.messages.at(-1)).toMatch(/^packs could not be written to the card: /);
  });

  it("drops from memory too what has waited too long, and only that", () => {
    const outbox = place.open({ cardFolder: blockedFolder, maxAgeMs: 60 * 60_000 });
    outbox.add("early", "live");
    place.pass(30 * 60_000);
    outbox.add("late", "live");
    place.pass(44 * 60_000);
    expect(waiting(outbox, "backlog")).toEqual(["late"]);
    expect(outbox.droppedPacks).toBe(1);
  });

  it("keeps at least the newest pack, however large", () => {
    const outbox = place.open({ cardFolder: blockedFolder, memoryBytes: 10 });
    addAll(outbox, ["older", "newest"], "live");
    expect(waiting(outbox, "live")).toEqual(["newest"]);
  });

  it("moves a burst that memory cannot hold to the card at once, in order, and drops nothing", () => {
    const outbox = place.open({ memoryBytes: 20 * 260 });
    addAll(outbox, numbered(300));
    expect(waiting(outbox, "backlog")).toEqual(numbered(300));
    expect(outbox.droppedPacks).toBe(0);
  });

  it("tells of a journal that cannot be written, and keeps packs all the same", () => {
    const outbox = place.open({ runFolder: blockedFolder });
    expect(outbox.fault).toContain("outbox-bay.journal.db cannot be written");
    addAll(outbox, ["a", "b"], "live");
    place.pass(10_000);
    outbox.close();
    expect(waiting(place.open(), "backlog")).toEqual(["a", "b"]);
  });

  it("leaves a slow card alone for ten times as long as a write took, and tells of it until one is quick again", () => {
    let isSlow = false;
    const outbox = place.open({
      nowMs: () => {
        // Every look at the clock costs three seconds.
        if (isSlow) place.nowMs += 3_000;
        return place.nowMs;
      },
    });
    addAll(outbox, ["a"], "live");
    place.pass(5_000);
    addAll(outbox, ["b"], "live");
    isSlow = true;
    place.pass(5_000);
    isSlow = false;
    expect(outbox.fault).toMatch(/outbox-bay\.db takes seconds to write/);
    const before = cardLogBytes();
    place.pass(5_000);
    expect(cardLogBytes()).toBe(before);
    place.pass(60_000);
    expect(cardLogBytes()).toBeGreaterThan(before);
    expect(outbox.fault).toBeNull();
  });
});
