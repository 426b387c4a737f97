import { pino } from "pino";
import { describe, expect, it } from "vitest";
import { MemoryOutbox } from "./outbox.ts";
import { packDigest } from "./readings.ts";

const quiet = pino({ level: "silent" });
const digestOf = (payload: string) => packDigest(Buffer.from(payload));
const payloads = (outbox: MemoryOutbox, urgency: "live" | "backlog") =>
  [...outbox.waiting(urgency)].map((pack) => pack.payload);

/** A logger whose messages can be read. */
function listening() {
  const messages: string[] = [];
  const logger = pino({ level: "error" }, { write: (line: string) => messages.push(JSON.parse(line).msg) });
  return { logger, messages };
}

describe("MemoryOutbox", () => {
  it("keeps packs in their order until each is removed by its digest", () => {
    const outbox = new MemoryOutbox(quiet);
    for (const payload of ["a", "b", "c"]) outbox.add(payload, "live");
    expect(outbox.remove(digestOf("b"))).toBe(true);
    expect(outbox.remove(digestOf("b"))).toBe(false);
    expect(payloads(outbox, "live")).toEqual(["a", "c"]);
    expect(outbox.packs).toBe(2);
  });

  it("keeps the same bytes once, whichever urgency they come with", () => {
    const outbox = new MemoryOutbox(quiet);
    outbox.add("a", "live");
    outbox.add("a", "live");
    outbox.add("a", "backlog");
    expect(outbox.packs).toBe(1);
  });

  it("puts what was live behind the older backlog when the connection is lost", () => {
    const outbox = new MemoryOutbox(quiet);
    outbox.add("live", "live");
    outbox.add("old", "backlog");
    outbox.demoteLive();
    expect(payloads(outbox, "backlog")).toEqual(["old", "live"]);
    expect(payloads(outbox, "live")).toEqual([]);
  });

  it("drops the oldest backlog first, then the oldest live pack, counts them, and says so once an episode", () => {
    const { logger, messages } = listening();
    const outbox = new MemoryOutbox(logger, 3 * 251);
    outbox.add("1", "live");
    outbox.add("2", "backlog");
    outbox.add("3", "live");
    outbox.add("4", "live");
    expect(payloads(outbox, "backlog")).toEqual([]);
    outbox.add("5", "live");
    expect(payloads(outbox, "live")).toEqual(["3", "4", "5"]);
    expect(outbox.droppedPacks).toBe(2);
    expect(messages).toEqual(["the outbox is full: the oldest readings are being lost"]);
    for (const payload of ["3", "4"]) outbox.remove(digestOf(payload));
    expect(messages).toHaveLength(2);
    for (const payload of ["6", "7", "8"]) outbox.add(payload, "live");
    expect(messages).toHaveLength(3);
  });

  it("keeps at least the newest pack, however large", () => {
    const outbox = new MemoryOutbox(quiet, 10);
    outbox.add("older", "live");
    outbox.add("newest", "live");
    expect(payloads(outbox, "live")).toEqual(["newest"]);
  });

  it("refuses a capacity that is not positive, NaN included", () => {
    expect(() => new MemoryOutbox(quiet, 0)).toThrow(RangeError);
    expect(() => new MemoryOutbox(quiet, Number.NaN)).toThrow(RangeError);
  });
});
