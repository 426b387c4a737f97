import "fake-indexeddb/auto";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { entry, FakeBrowser, type FakePredictor } from "./fake-predictor.ts";
import { leaseMs } from "./outbox.ts";
import { memoryStore, openOutboxStore } from "./outbox-store.ts";

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
  vi.restoreAllMocks();
});

describe("who an entry is of", () => {
  it("waits for a sign-in, and says so, when there is no session", async () => {
    const outbox = await tab();
    predictor.session = null;
    await outbox.add(entry("moved"));
    await outbox.flush();
    expect(predictor.requests).toBe(0);
    expect(outbox.state).toMatchObject({ hindrance: "sign in", entries: [{ label: "moved", state: "waiting" }] });
  });
  it("stays when the session ends while it is being sent", async () => {
    const outbox = await tab();
    await outbox.add(entry("moved"));
    predictor.answers = () => ({ kind: "sign in" });
    await outbox.flush();
    expect(outbox.state).toMatchObject({ hindrance: "sign in", entries: [{ state: "waiting" }] });
  });
  it("is who signs in next, when nobody was signed in", async () => {
    const outbox = await tab();
    predictor.session = null;
    await outbox.add(entry("moved", { who: null }));
    await outbox.flush();
    predictor.session = "Painter B";
    await outbox.flush();
    expect(predictor.records).toEqual(["moved by Painter B"]);
  });
  it("is never somebody else who signed in on the same phone meanwhile", async () => {
    const outbox = await tab();
    await outbox.add(entry("of A"));
    await outbox.add(entry("of B", { who: "Painter B" }));
    predictor.session = "Painter B";
    await outbox.flush();
    expect(predictor.records).toEqual(["of B by Painter B"]);
    expect(outbox.state).toMatchObject({ hindrance: "other person", entries: [{ label: "of A" }] });
    predictor.session = "Painter A";
    await outbox.flush();
    expect(predictor.records).toEqual(["of B by Painter B", "of A by Painter A"]);
  });
  it("stays who it was first sent as, when that answer was lost", async () => {
    const outbox = await tab();
    await outbox.add(entry("moved", { who: null }));
    predictor.losesAnswers = true;
    await outbox.flush();
    predictor.losesAnswers = false;
    predictor.session = "Painter B";
    await outbox.flush();
    expect(outbox.state.entries).toMatchObject([{ who: "Painter A" }]);
    expect(predictor.requests).toBe(1);
  });
});

describe("several tabs", () => {
  it("send each entry once, in order, when all of them try at once", async () => {
    const tabs = [await tab(), await tab(), await tab()];
    for (const label of ["a", "b", "c", "d"]) await tabs[0]?.add(entry(label));
    await Promise.all(tabs.map((each) => each.flush()));
    expect(predictor.requests).toBe(4);
    expect(predictor.records.map((record) => record[0])).toEqual(["a", "b", "c", "d"]);
  });
  it("do not send what another one sent while they waited for their turn", async () => {
    const first = await tab();
    const store = await browser.openStore();
    const lease: typeof store.lease = async (...given) => {
      await first.flush();
      return store.lease(...given);
    };
    const second = await tab({ ...store, lease });
    await second.add(entry("moved"));
    await second.flush();
    expect(predictor.records).toEqual(["moved by Painter A"]);
    expect(predictor.requests).toBe(1);
  });
  it("do not bring back what another one threw away", async () => {
    const [first, second] = [await tab(), await tab()];
    const moved = entry("moved");
    await first.add(moved);
    predictor.answers = () => ({ kind: "refused", detail: "no" });
    await second.flush();
    await first.throwAway(moved.key);
    await second.sendAgain(moved.key, {}, "Painter A");
    expect(await (await browser.openStore()).all()).toEqual([]);
    expect(predictor.requests).toBe(1);
  });
  it("leave the sending to the one that has it, until that one has been silent for as long as a lease", async () => {
    const [dead, alive] = [await browser.openStore(), await tab()];
    expect(await dead.lease("dead", browser.wallMs, leaseMs)).toBe(true);
    await alive.add(entry("moved"));
    await alive.flush();
    expect(predictor.requests).toBe(0);
    browser.wallMs += leaseMs;
    await alive.flush();
    expect(predictor.records).toEqual(["moved by Painter A"]);
  });
  it("do not wait for a lease from before this device's clock was set back", async () => {
    const [dead, alive] = [await browser.openStore(), await tab()];
    await dead.lease("dead", browser.wallMs + 86_400_000, leaseMs);
    await alive.add(entry("moved"));
    await alive.flush();
    expect(predictor.records).toEqual(["moved by Painter A"]);
  });
});

describe("a browser that keeps nothing", () => {
  it("sends all the same, and says that it does not last", async () => {
    const outbox = await tab(memoryStore());
    expect(outbox.state.lasts).toBe(false);
    await outbox.add(entry("moved"));
    await outbox.flush();
    expect(predictor.records).toEqual(["moved by Painter A"]);
  });
  it("is found out when the database can't be opened", async () => {
    const opening = vi.spyOn(indexedDB, "open").mockImplementation(() => {
      throw new DOMException("private", "SecurityError");
    });
    expect((await openOutboxStore("none")).lasts).toBe(false);
    opening.mockRestore();
    const store = await openOutboxStore("some");
    expect(store.lasts).toBe(true);
    store.close();
  });
});
