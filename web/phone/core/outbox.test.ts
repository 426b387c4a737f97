import "fake-indexeddb/auto";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { entry, FakeBrowser, type FakePredictor, labels, newCar } from "./fake-predictor.ts";
import { memoryStore, type Waiting } from "./outbox-store.ts";

let browser: FakeBrowser;
let predictor: FakePredictor;
let tab: FakeBrowser["tab"];
beforeEach(() => {
  browser = new FakeBrowser();
  predictor = browser.predictor;
  tab = (store) => browser.tab(store);
});
afterEach(() => {
  browser.close();
  vi.useRealTimers();
});

describe("an entry on its way", () => {
  it("is kept before it is sent, and is gone once the predictor has it", async () => {
    const outbox = await tab();
    await outbox.add(entry("moved"));
    expect(predictor.requests).toBe(0);
    expect(labels(outbox)).toEqual(["moved"]);
    await outbox.flush();
    expect(predictor.records).toEqual(["moved by Painter A"]);
    expect(labels(outbox)).toEqual([]);
  });
  it("is sent by the next page when the phone dies between keeping and sending", async () => {
    const before = await tab();
    await before.add(entry("moved"));
    before.stop();
    const after = await tab();
    await after.flush();
    expect(predictor.records).toEqual(["moved by Painter A"]);
  });
  it("is recorded once when the phone dies, or the link breaks, between the recording and its answer", async () => {
    const before = await tab();
    await before.add(entry("moved"));
    predictor.losesAnswers = true;
    await before.flush();
    expect(labels(before)).toEqual(["moved"]);
    before.stop();
    predictor.losesAnswers = false;
    const after = await tab();
    await after.flush();
    expect(predictor.requests).toBe(2);
    expect(predictor.records).toEqual(["moved by Painter A"]);
    expect(labels(after)).toEqual([]);
  });
  it("is sent again by itself, later and later, until the predictor answers", async () => {
    vi.useFakeTimers();
    const outbox = await tab(memoryStore());
    predictor.isReachable = false;
    await outbox.add(entry("moved"));
    await outbox.flush();
    expect(outbox.state.hindrance).toBe("no answer");
    await vi.advanceTimersByTimeAsync(2_000 + 4_000 + 8_000);
    expect(predictor.records).toEqual([]);
    predictor.isReachable = true;
    await vi.advanceTimersByTimeAsync(15_999);
    expect(predictor.records).toEqual([]);
    await vi.advanceTimersByTimeAsync(1);
    expect(predictor.records).toEqual(["moved by Painter A"]);
  });
  it("that comes while others are being sent is sent after them", async () => {
    const outbox = await tab();
    await outbox.add(entry("first"));
    const sending = outbox.flush();
    await outbox.add(entry("second"));
    await outbox.flush();
    await sending;
    expect(predictor.records).toEqual(["first by Painter A", "second by Painter A"]);
  });
});

describe("the order of entries", () => {
  it("is that of entering", async () => {
    const outbox = await tab();
    for (const label of ["a", "b", "c", "d"]) await outbox.add(entry(label));
    await outbox.flush();
    expect(predictor.records.map((record) => record[0])).toEqual(["a", "b", "c", "d"]);
  });
  it("stays within a car the predictor fails over, while other cars go on", async () => {
    const outbox = await tab();
    await outbox.add(entry("car 1, first"));
    await outbox.add(entry("car 1, second"));
    await outbox.add(entry("car 2", { about: "cars/2" }));
    predictor.answers = ({ label }) => (label === "car 1, first" ? { kind: "failed" } : null);
    await outbox.flush();
    expect(predictor.records).toEqual(["car 2 by Painter A"]);
    expect(labels(outbox)).toEqual(["car 1, first", "car 1, second"]);
    predictor.answers = () => null;
    await outbox.flush();
    expect(predictor.records.slice(1)).toEqual(["car 1, first by Painter A", "car 1, second by Painter A"]);
  });
  it("asks no more of a predictor that does not answer", async () => {
    const outbox = await tab();
    await outbox.add(entry("a"));
    await outbox.add(entry("b", { about: "cars/2" }));
    predictor.answers = () => ({ kind: "no answer" });
    await outbox.flush();
    expect(predictor.requests).toBe(1);
    expect(labels(outbox)).toEqual(["a", "b"]);
  });
});

describe("a refused entry", () => {
  const refuse = (label: string) => (sent: Waiting) =>
    sent.label === label ? ({ kind: "refused", detail: "No place cellar." } as const) : null;

  it("stays with its reason, is not sent by itself again, and holds back nothing", async () => {
    const outbox = await tab();
    await outbox.add(entry("wrong"));
    await outbox.add(entry("right"));
    predictor.answers = refuse("wrong");
    await outbox.flush();
    await outbox.flush();
    expect(predictor.requests).toBe(2);
    expect(predictor.records).toEqual(["right by Painter A"]);
    expect(outbox.state.entries).toMatchObject([{ label: "wrong", state: "refused", detail: "No place cellar." }]);
    const later = await tab();
    await later.flush();
    expect(later.state.entries).toMatchObject([{ label: "wrong", state: "refused" }]);
  });
  it("that was to make a car keeps what is about that car waiting, and nothing else", async () => {
    const outbox = await tab();
    await outbox.add(newCar("new car", "x"));
    await outbox.add(entry("its coat", { path: "/api/cars/x/coats", about: "cars/x" }));
    await outbox.add(entry("other car"));
    predictor.answers = refuse("new car");
    await outbox.flush();
    await outbox.flush();
    expect(predictor.records).toEqual(["other car by Painter A"]);
    expect(labels(outbox)).toEqual(["new car", "its coat"]);
  });
  it("goes out with its own key when it was put right, before what waited behind it", async () => {
    const outbox = await tab();
    const made = newCar("new car", "x");
    await outbox.add(made);
    await outbox.add(entry("its coat", { path: "/api/cars/x/coats", about: "cars/x" }));
    predictor.answers = refuse("new car");
    await outbox.flush();
    const keys: string[] = [];
    predictor.answers = ({ key, body }) => {
      keys.push(`${key} ${JSON.stringify(body)}`);
      return null;
    };
    await outbox.sendAgain(made.key, { id: "x", place: "booth-1" }, "Painter B");
    predictor.session = "Painter B";
    await outbox.flush();
    expect(keys[0]).toBe(`${made.key} {"id":"x","place":"booth-1"}`);
    expect(predictor.records[0]).toBe("new car by Painter B");
  });
  it("is gone only when it is thrown away, and what waited behind it is tried then", async () => {
    const outbox = await tab();
    const made = newCar("new car", "x");
    await outbox.add(made);
    await outbox.add(entry("its coat", { path: "/api/cars/x/coats", about: "cars/x" }));
    predictor.answers = refuse("new car");
    await outbox.flush();
    await outbox.throwAway(made.key);
    expect(labels(outbox)).toEqual([]);
    expect(predictor.records).toEqual(["its coat by Painter A"]);
  });
});
