import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { FakeStream } from "./fake-stream.ts";
import { type FeedState, startFeed } from "./feed.ts";
import { serverNow } from "./server-now.ts";

interface View {
  asOf: string;
  n: number;
}
const view = (n: number) => ({ asOf: "2026-03-02T08:00:00Z", n });
const answer = (body: unknown, status = 200) => Promise.resolve(new Response(JSON.stringify(body), { status }));

describe("startFeed", () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  function start(get: () => Promise<Response>) {
    let state: FeedState<View> = { view: null, failure: null, lostSinceMs: null };
    const stream = new FakeStream();
    const outdated = vi.fn();
    const clock = serverNow(
      () => Date.now(),
      () => 0,
    );
    const stop = startFeed<View>(
      {
        load: "/view",
        stream: "/stream",
        event: "view",
        asOf: (shown) => shown.asOf,
        amend: (shown, data) => ({ ...shown, n: shown.n + (data as number) }),
      },
      (changed) => {
        state = changed;
      },
      { get, open: () => stream, monotonicMs: () => Date.now(), clock, outdated },
    );
    return { stop, stream, outdated, clock, state: () => state };
  }
  const settled = () => vi.advanceTimersByTimeAsync(0);

  it("shows what it loaded, learns the server's time from it, then follows the stream", async () => {
    const { stop, stream, state, clock } = start(() => answer(view(1)));
    await settled();
    expect(state()).toEqual({ view: view(1), failure: null, lostSinceMs: null });
    expect(clock.nowMs()).toBe(Date.UTC(2026, 2, 2, 8));
    stream.says("view", JSON.stringify(view(2)));
    stream.says("reading", "5");
    expect(state().view?.n).toBe(7);
    stop();
  });
  it("never lets a slow answer overwrite a newer event", async () => {
    let finish = (_: Response) => {};
    const slow = new Promise<Response>((resolve) => {
      finish = resolve;
    });
    const { stop, stream, state } = start(() => slow);
    stream.says("view", JSON.stringify(view(2)));
    finish(new Response(JSON.stringify(view(1))));
    await settled();
    expect(state().view?.n).toBe(2);
    stop();
  });
  it("says the server's own words when there is nothing to show, and tries again", async () => {
    let known = false;
    const { stop, state } = start(() => (known ? answer(view(1)) : answer({ detail: "No such place." }, 404)));
    await settled();
    expect(state().failure).toBe("No such place.");
    known = true;
    await vi.advanceTimersByTimeAsync(5_000);
    expect(state()).toMatchObject({ failure: null, view: view(1) });
    stop();
  });
  it("keeps the old view, marked lost, until a view comes over an open stream", async () => {
    const { stop, stream, state } = start(() => answer(view(1)));
    stream.opens();
    await settled();
    stream.fails(false);
    expect(state()).toMatchObject({ view: view(1) });
    expect(state().lostSinceMs).not.toBeNull();
    stream.opens();
    await settled();
    expect(state().lostSinceMs).toBeNull();
    stop();
  });
  it("does not call a view followed that was only loaded while the stream is refused", async () => {
    const { stop, stream, state } = start(() => answer(view(1)));
    stream.fails(true);
    await settled();
    expect(state().view).toEqual(view(1));
    expect(state().lostSinceMs).not.toBeNull();
    stop();
  });
  it("is outdated when the server runs another version or build than at first, and no more when it is back", () => {
    const { stop, stream, outdated } = start(() => answer(view(1)));
    for (const version of ["1+a", "1+a", "1+b", "1+a"]) stream.says("hello", JSON.stringify({ version }));
    expect(outdated.mock.calls).toEqual([[false], [false], [true], [false]]);
    stop();
  });
  it("leaves no timer behind and changes nothing after it was stopped", async () => {
    const { stop, stream, state } = start(() => Promise.reject(new TypeError("network")));
    await settled();
    expect(state().failure).toEqual({ key: "page.no-answer" });
    stop();
    stream.says("view", JSON.stringify(view(3)));
    await settled();
    expect(state().view).toBeNull();
    expect(vi.getTimerCount()).toBe(0);
  });
});
