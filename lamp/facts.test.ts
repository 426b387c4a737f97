import fc from "fast-check";
import { pino } from "pino";
import { beforeEach, describe, expect, it } from "vitest";
import { Tally } from "../collector/tally.ts";
import { Facts } from "./facts.ts";

const readiness = "coatclock/1/test-shop/readiness/j-1/c-1";
const humidity = "coatclock/1/test-shop/warnings/booth/humidity";
const bytes = (message: unknown) => Buffer.from(JSON.stringify(message));
const ready = (readyFor: string | null) => bytes({ car: "A", place: "booth", readyFor, next: null });
const warning = {
  id: "booth/humidity",
  rule: "humidity",
  place: "booth",
  urgency: "soon",
  since: "2026-11-25T08:40:11Z",
};

let facts: Facts;
let logged: string[];

beforeEach(() => {
  logged = [];
  const write = (line: string) => logged.push(JSON.parse(line).msg);
  facts = new Facts(new Tally(pino({ level: "warn" }, { write })));
});

describe("Facts", () => {
  it("takes what a coat is ready for and a warning, and passes over fields it does not know", () => {
    facts.take(readiness, ready("demask"));
    facts.take(humidity, bytes({ ...warning, text: "damp", later: { more: 1 } }));
    expect(facts.shown()).toEqual([
      { kind: "ready", key: `${readiness} demask`, place: "booth", since: "", stage: "demask" },
      {
        kind: "warning",
        key: "warning booth/humidity",
        place: "booth",
        since: warning.since,
        rule: "humidity",
        urgency: "soon",
      },
    ]);
    expect(logged).toEqual([]);
  });

  it("takes one warning that shows in two places for one, and one that has time until the evening", () => {
    facts.take(humidity, bytes({ ...warning, urgency: "today" }));
    facts.take(humidity.replace("booth", "prep"), bytes({ ...warning, urgency: "today", place: "prep" }));
    expect(facts.shown()).toMatchObject([
      { key: "warning booth/humidity", place: "booth", urgency: "today" },
      { key: "warning booth/humidity", place: "prep", urgency: "today" },
    ]);
    expect(logged).toEqual([]);
  });

  it("forgets what an empty payload removes, and a coat that is ready for nothing yet", () => {
    facts.take(readiness, ready("demask"));
    facts.take(humidity, bytes(warning));
    facts.take(readiness, ready(null));
    facts.take(humidity, Buffer.alloc(0));
    expect(facts.all()).toEqual([]);
  });

  it.each([
    ["no JSON", Buffer.from("ready!")],
    ["another form", bytes({ place: "booth", readyFor: 3 })],
    ["a list", bytes([])],
    ["null", bytes(null)],
    ["bytes that are no text", Buffer.from([0xff, 0xfe, 0])],
  ])("leaves all as it was for %s, and says so", (_what, payload) => {
    facts.take(readiness, ready("demask"));
    facts.take(readiness, payload);
    expect(facts.shown()).toHaveLength(1);
    expect(logged).toEqual(["skipped: not of the documented form"]);
  });

  it("never throws, and lets no message of one topic touch another, whatever bytes come", () => {
    facts.take(humidity, bytes(warning));
    const anything = fc.oneof(
      fc.uint8Array({ maxLength: 60 }).map((array) => Buffer.from(array)),
      fc.json().map((text) => Buffer.from(text)),
      fc.record({ place: fc.anything(), readyFor: fc.anything(), id: fc.anything() }).map((message) => {
        try {
          return bytes(message);
        } catch {
          return Buffer.alloc(0);
        }
      }),
    );
    fc.assert(
      fc.property(anything, (payload) => {
        facts.take(readiness, payload);
        expect(facts.all().filter((fact) => fact.kind === "warning")).toHaveLength(1);
      }),
      { numRuns: 2_000 },
    );
  });

  it("holds no more than 5,000, says so, and still hears of those it has", () => {
    for (let n = 0; n < 5_100; n += 1) facts.take(`coatclock/1/test-shop/readiness/j/${n}`, ready("sand"));
    expect(facts.all()).toHaveLength(5_000);
    expect(logged).toContain("skipped: too many");
    facts.take("coatclock/1/test-shop/readiness/j/7", Buffer.alloc(0));
    expect(facts.all()).toHaveLength(4_999);
  });

  it("after a lost connection keeps what was told until it is dropped, and then only what was told anew", () => {
    facts.take(readiness, ready("demask"));
    facts.take(humidity, bytes(warning));
    facts.connectionLost();
    facts.take(humidity, bytes(warning));
    expect(facts.shown()).toHaveLength(2);
    facts.hideOld();
    expect(facts.shown().map(({ kind }) => kind)).toEqual(["warning"]);
    expect(facts.all()).toHaveLength(2);
    facts.dropOld();
    expect(facts.all().map(({ kind }) => kind)).toEqual(["warning"]);
  });
});
