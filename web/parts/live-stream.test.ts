import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { FakeStream } from "./fake-stream.ts";
import { followStream } from "./live-stream.ts";

describe("followStream", () => {
  beforeEach(() => {
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  function start() {
    const streams: FakeStream[] = [];
    const log: unknown[] = [];
    const stop = followStream({
      open: () => {
        const stream = new FakeStream();
        streams.push(stream);
        return stream;
      },
      monotonicMs: () => Date.now(),
      events: { beat: (data) => log.push(data) },
      onOpen: () => log.push("open"),
      onLost: () => log.push("lost"),
    });
    const newest = () => streams.at(-1) as FakeStream;
    return { streams, log, stop, newest };
  }

  it("hands on parsed events", () => {
    const { log, newest, stop } = start();
    newest().opens();
    newest().says("beat", '{"at":1}');
    expect(log).toEqual(["open", { at: 1 }]);
    stop();
  });
  it("says lost once, at once, and lets the browser reconnect by itself", () => {
    const { streams, log, newest, stop } = start();
    newest().opens();
    newest().fails(false);
    newest().fails(false);
    expect(log).toEqual(["open", "lost"]);
    expect(streams).toHaveLength(1);
    newest().opens();
    expect(log).toEqual(["open", "lost", "open"]);
    stop();
  });
  it("opens a new stream when the browser gave up", () => {
    const { streams, newest, stop } = start();
    newest().fails(true);
    vi.advanceTimersByTime(4_000);
    expect(streams).toHaveLength(1);
    vi.advanceTimersByTime(2_000);
    expect(streams).toHaveLength(2);
    stop();
  });
  it("takes 25 s of silence for a loss, closes and opens again, and ignores the dead stream from then on", () => {
    const { streams, log, newest, stop } = start();
    newest().opens();
    vi.advanceTimersByTime(20_000);
    newest().says("beat", "1");
    vi.advanceTimersByTime(24_000);
    expect(log).toEqual(["open", 1]);
    vi.advanceTimersByTime(2_000);
    expect(log).toEqual(["open", 1, "lost"]);
    expect(streams[0]?.closed).toBe(true);
    vi.advanceTimersByTime(6_000);
    expect(streams).toHaveLength(2);
    streams[0]?.says("beat", "2");
    expect(log).toEqual(["open", 1, "lost"]);
    stop();
  });
  it("counts an event that is no JSON as a loss", () => {
    const { log, newest, stop } = start();
    newest().opens();
    newest().says("beat", "{");
    expect(log).toEqual(["open", "lost"]);
    stop();
  });
  it("keeps one stream and no timer after it was stopped", () => {
    const { streams, newest, stop } = start();
    newest().fails(true);
    stop();
    expect(vi.getTimerCount()).toBe(0);
    vi.advanceTimersByTime(60_000);
    expect(streams).toHaveLength(1);
  });
});
