import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { leastBetweenMs, reloader } from "./reload.ts";

describe("reloader", () => {
  beforeEach(() => {
    stored.clear();
    vi.useFakeTimers();
  });
  afterEach(() => {
    vi.useRealTimers();
  });

  /** `opened` stands for one life of the page: what it stored stays for the next. */
  const stored = new Map<string, string>();
  const storage = {
    getItem: (key: string) => stored.get(key) ?? null,
    setItem: (key: string, value: string) => void stored.set(key, value),
  };
  const opened = () => {
    const reload = vi.fn();
    return { reload, ...reloader({ storage, nowMs: Date.now, reload }) };
  };

  it("reloads an outdated page at once, and one that is not never", () => {
    const page = opened();
    page.outdated(false);
    expect(page.reload).not.toHaveBeenCalled();
    page.outdated(true);
    expect(page.reload).toHaveBeenCalledTimes(1);
  });
  it("waits with the next reload where the first did not help, and then tries again", () => {
    opened().outdated(true);
    vi.advanceTimersByTime(20_000);
    const page = opened();
    page.outdated(true);
    page.outdated(true);
    vi.advanceTimersByTime(leastBetweenMs - 20_001);
    expect(page.reload).not.toHaveBeenCalled();
    vi.advanceTimersByTime(1);
    expect(page.reload).toHaveBeenCalledTimes(1);
  });
  it("gives the wait up when the server is the old one again, and when the page goes", () => {
    opened().outdated(true);
    for (const end of ["outdated", "stop"] as const) {
      const page = opened();
      page.outdated(true);
      if (end === "stop") page.stop();
      else page.outdated(false);
      expect(vi.getTimerCount()).toBe(0);
    }
  });
  it("does not wait on a clock that was set back", () => {
    opened().outdated(true);
    vi.setSystemTime(Date.now() - 3_600_000);
    const page = opened();
    page.outdated(true);
    expect(page.reload).toHaveBeenCalledTimes(1);
  });
});
