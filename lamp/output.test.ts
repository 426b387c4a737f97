import { pino } from "pino";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Fact } from "./facts.ts";
import { Output, type Situation } from "./output.ts";
import { lampSchema } from "./settings.ts";

const ready = (place: string, stage: string, coat = "c-1"): Fact => ({
  kind: "ready",
  key: `${coat} ${stage}`,
  place,
  since: "",
  stage,
});
const warning = (rule: string, urgency: "now" | "soon" = "soon", since = "08:00", place = "booth"): Fact => ({
  kind: "warning",
  key: rule,
  place,
  since,
  rule,
  urgency,
});

let set: boolean[];
let stopped: boolean;

function outputOf(settings: object): (facts: Fact[], more?: Partial<Situation>) => boolean | undefined {
  const parsed = lampSchema.parse({ outputs: [{ command: "/bin/true", ...settings }] }).outputs[0];
  if (parsed === undefined) throw new Error("no output");
  const output = new Output(parsed, pino({ level: "silent" }), () => ({
    set: (on) => void set.push(on),
    state: () => "",
    stop: async () => {
      stopped = true;
    },
  }));
  stop = () => output.stop();
  return (facts, more) => {
    output.show({ shown: facts, known: facts, isAlive: true, silence: null, isQuiet: false, ...more });
    return set.at(-1);
  };
}
let stop: () => Promise<void>;
const lost: Partial<Situation> = { isAlive: false, silence: "1" };

beforeEach(() => {
  vi.useFakeTimers();
  set = [];
  stopped = false;
});
afterEach(() => {
  vi.useRealTimers();
});

describe("a steady output", () => {
  it("is on while a coat in its place is ready for its stage, and for no other", () => {
    const show = outputOf({ when: { ready: "demask", place: "booth" } });
    expect(show([ready("booth", "demask")])).toBe(true);
    expect(show([ready("booth", "sand")])).toBe(false);
    expect(show([ready("prep", "demask")])).toBe(false);
    expect(show([ready("prep", "demask"), ready("booth", "demask", "c-2"), warning("cold")])).toBe(true);
    expect(show([])).toBe(false);
  });

  it("is on for each of its stages, and is not switched between them", () => {
    const show = outputOf({ when: { ready: ["demask", "assemble"], place: "booth" } });
    show([ready("booth", "demask")]);
    show([ready("booth", "assemble")]);
    show([ready("booth", "polish")]);
    expect(set).toEqual([true, false]);
  });

  it.each([
    [{ warning: "any" }, true, true, true],
    [{ warning: "humidity" }, true, false, true],
    [{ warning: "any", urgency: "now" }, false, true, false],
    [{ warning: "any", place: "prep" }, false, false, true],
  ])("shows by rule, place and urgency: %j", (when, damp, window, dampInPrep) => {
    const show = outputOf({ when });
    const isOn = (...facts: Fact[]) => show(facts) ?? false;
    expect(isOn(warning("humidity"))).toBe(damp);
    expect(isOn(warning("window-closing", "now"))).toBe(window);
    expect(isOn(warning("humidity", "soon", "08:00", "prep"))).toBe(dampInPrep);
    expect(isOn(ready("booth", "sand"))).toBe(false);
  });

  it("is off without a sign of life, whatever was true; and the one for `lost` is on then only", () => {
    const facts = [ready("booth", "demask")];
    const show = outputOf({ when: { ready: "demask", place: "booth" } });
    show(facts);
    expect(show(facts, lost)).toBe(false);
    expect(show(facts)).toBe(true);
    set = [];
    const showLost = outputOf({ when: { lost: true } });
    expect(showLost(facts)).toBeUndefined();
    // At the start nothing is known yet, and nothing lost.
    expect(showLost([], { isAlive: false })).toBeUndefined();
    expect(showLost(facts, lost)).toBe(true);
    expect(showLost(facts)).toBe(false);
  });

  it("does not show what is known from before only", () => {
    const show = outputOf({ when: { ready: "demask", place: "booth" } });
    expect(show([], { known: [ready("booth", "demask")] })).toBeUndefined();
  });
});

describe("a pulsing output", () => {
  it("changes between on and off while it is true, and ends with off", async () => {
    const show = outputOf({ when: { warning: "any" }, pattern: { pulse: { onSeconds: 1, offSeconds: 2 } } });
    show([warning("cold")]);
    for (let second = 0; second < 7; second += 1) {
      vi.advanceTimersByTime(1_000);
      show([warning("cold")]);
    }
    // On at 0, 3 and 6 s, off at 1, 4 and 7 s.
    expect(set).toEqual([true, false, true, false, true, false]);
    show([]);
    vi.advanceTimersByTime(60_000);
    expect(set.slice(6)).toEqual([false]);
    show([warning("cold")]);
    await stop();
    const before = set.length;
    vi.advanceTimersByTime(60_000);
    expect(set).toHaveLength(before);
    expect(stopped).toBe(true);
  });
});

describe("an output that sounds once", () => {
  const buzzer = { pattern: { once: { seconds: 2 } } };

  it("is on for its seconds at each new thing and never again for the same", () => {
    const show = outputOf({ when: { warning: "any" }, ...buzzer });
    show([warning("cold")]);
    vi.advanceTimersByTime(1_999);
    expect(set).toEqual([true]);
    vi.advanceTimersByTime(1);
    show([warning("cold")]);
    vi.advanceTimersByTime(60_000);
    expect(set).toEqual([true, false]);
    show([warning("cold"), warning("humidity")]);
    vi.advanceTimersByTime(60_000);
    expect(set).toEqual([true, false, true, false]);
    show([]);
    show([warning("cold", "soon", "09:00")]);
    expect(set).toEqual([true, false, true, false, true]);
  });

  it("sounds for two new things at once no longer than for one, and longer when the second comes later", () => {
    const show = outputOf({ when: { warning: "any" }, ...buzzer });
    show([warning("cold"), warning("humidity")]);
    vi.advanceTimersByTime(1_500);
    show([warning("cold"), warning("humidity"), warning("heat")]);
    vi.advanceTimersByTime(1_500);
    expect(set.at(-1)).toBe(true);
    vi.advanceTimersByTime(500);
    expect(set.at(-1)).toBe(false);
  });

  it("sounds when a warning becomes urgent, where only urgent ones count", () => {
    const show = outputOf({ when: { warning: "any", urgency: "now" }, ...buzzer });
    show([warning("window-closing", "soon")]);
    expect(set).toEqual([]);
    show([warning("window-closing", "now")]);
    expect(set).toEqual([true]);
  });

  it("does not sound for what was true before we came, then or later", () => {
    const show = outputOf({ when: { ready: "sand", place: "booth" }, ...buzzer });
    show([ready("booth", "sand")], { isQuiet: true });
    show([ready("booth", "sand")]);
    expect(set).toEqual([]);
    show([ready("booth", "sand"), ready("booth", "sand", "c-2")]);
    expect(set).toEqual([true]);
  });

  it("waits for a sign of life, and does not repeat itself after a silence", () => {
    const show = outputOf({ when: { ready: "sand", place: "booth" }, ...buzzer });
    show([ready("booth", "sand")]);
    vi.advanceTimersByTime(5_000);
    show([ready("booth", "sand"), ready("booth", "sand", "c-2")], lost);
    expect(set).toEqual([true, false]);
    show([ready("booth", "sand"), ready("booth", "sand", "c-2")]);
    expect(set).toEqual([true, false, true]);
  });

  it("sounds once for each time the predictor is lost", () => {
    const show = outputOf({ when: { lost: true }, ...buzzer });
    show([], lost);
    show([], lost);
    vi.advanceTimersByTime(5_000);
    show([]);
    show([], { ...lost, silence: "2" });
    expect(set).toEqual([true, false, true]);
  });
});
