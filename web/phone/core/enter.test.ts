import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { exampleClock } from "../../parts/example-words.ts";

const moved = { method: "POST", path: "/api/cars/1/moves", body: { place: "booth" }, label: "moved" } as const;

/** What the predictor answers to an entry, and the name of the session. */
let answer: () => Promise<Response>;
let session: string | null;
let entries: { path: string; key: string | undefined }[];

beforeEach(() => {
  vi.resetModules();
  vi.stubGlobal("indexedDB", new IDBFactory());
  vi.stubGlobal("location", { pathname: "/cars/1", search: "" });
  // Open channels of tests that are over would hear this one.
  vi.stubGlobal("BroadcastChannel", undefined);
  session = "Painter A";
  entries = [];
  answer = async () => Response.json({}, { status: 201 });
  vi.stubGlobal("fetch", (url: string, options: RequestInit) => {
    if (url === "/api/me") return Promise.resolve(Response.json({ person: session && { name: session } }));
    entries.push({ path: url, key: new Headers(options.headers).get("idempotency-key") ?? undefined });
    return answer();
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

/** The module as a page that was just opened has it. */
async function openedPage(who: string | null = "Painter A") {
  const page = await import("./enter.ts");
  (await import("../../parts/device-memory.ts")).speak(exampleClock().words);
  const signIn = vi.fn();
  page.enterFor({ who: () => who, carOfCoat: () => null, signIn });
  const { outbox } = await page.phoneOutbox();
  return { ...page, outbox, signIn };
}

describe("enter", () => {
  it("says that an entry was recorded, and keeps nothing of it", async () => {
    const { enter, outbox, signIn } = await openedPage();
    expect(await enter(moved)).toEqual({ state: "sent" });
    expect(entries).toEqual([{ path: "/api/cars/1/moves", key: expect.stringMatching(/^\w{22}$/) }]);
    expect(outbox.state.entries).toEqual([]);
    expect(signIn).not.toHaveBeenCalled();
    outbox.stop();
  });
  it("says why an entry was refused, and keeps it", async () => {
    const { enter, outbox } = await openedPage();
    answer = async () => Response.json({ detail: "No such place." }, { status: 422 });
    const entered = await enter(moved);
    expect(entered).toMatchObject({ state: "refused", detail: "No such place." });
    expect(outbox.state.entries).toMatchObject([{ state: "refused", label: "moved", page: "/cars/1" }]);
    outbox.stop();
  });
  it("asks for a sign-in only after whoever entered it could lead on, and sends it as who signs in", async () => {
    session = null;
    const { enter, outbox, signIn, fateIn } = await openedPage(null);
    const entered = await enter(moved);
    expect(entered.state).toBe("sign in");
    expect(signIn).not.toHaveBeenCalled();
    await vi.waitFor(() => expect(signIn).toHaveBeenCalledOnce());
    expect(entries).toEqual([]);
    session = "Painter B";
    await outbox.flush();
    expect(entries).toHaveLength(1);
    expect(fateIn(outbox.state, "key" in entered ? (entered.key ?? "") : "")).toBeNull();
    outbox.stop();
  });
  it("does not keep a person waiting for a link that is dead, and sends when it lives again", async () => {
    vi.useFakeTimers({ toFake: ["setTimeout", "clearTimeout"] });
    const { enter, outbox } = await openedPage();
    let arrive: (response: Response) => void = () => undefined;
    answer = () => new Promise((resolve) => (arrive = resolve));
    const entering = enter(moved);
    await vi.waitFor(() => expect(entries).toHaveLength(1));
    await vi.advanceTimersByTimeAsync(3_000);
    expect(await entering).toMatchObject({ state: "waiting" });
    expect(outbox.state.entries).toHaveLength(1);
    arrive(Response.json({}));
    await vi.waitFor(() => expect(outbox.state.entries).toEqual([]));
    outbox.stop();
  });
  it("sends at once what the phone has no room to keep, and says when that failed", async () => {
    const { enter, outbox } = await openedPage();
    vi.spyOn(outbox, "add").mockRejectedValue(new DOMException("full", "QuotaExceededError"));
    expect(await enter(moved)).toEqual({ state: "sent" });
    answer = () => Promise.reject(new TypeError("failed to fetch"));
    expect(await enter(moved)).toMatchObject({ state: "refused", detail: expect.stringContaining("enter it again") });
    outbox.stop();
  });
  it("works without IndexedDB, and says that what waits does not last", async () => {
    vi.stubGlobal("indexedDB", undefined);
    const { enter, outbox } = await openedPage();
    expect(outbox.state.lasts).toBe(false);
    expect(await enter(moved)).toEqual({ state: "sent" });
    outbox.stop();
  });
});
