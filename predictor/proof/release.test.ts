import { describe, expect, it } from "vitest";
import type { Check, Coat } from "../records/records.ts";
import { exampleFigures, hourMs } from "./example-proof.ts";
import { notYetReleasable, type ReleaseOf } from "./release.ts";

const coat = { withdrawn: null, verdict: null } as Coat;
const why = (more: Partial<ReleaseOf>) =>
  notYetReleasable({ coat, figures: exampleFigures(), checks: [], answers: [], nowMs: hourMs, ...more })?.key ?? null;
const check = (stage: Check["stage"], ready: boolean) => ({ stage, ready }) as Check;
const by = { who: "an invented inspector", role: "quality", atMs: 0 } as const;

describe("a release", () => {
  it("waits until the release stage is safe", () => {
    expect(why({ nowMs: hourMs - 1 })).toBe("release.not-safe");
    expect(why({})).toBeNull();
  });
  it("or for a check of that stage that finds it ready", () => {
    expect(why({ nowMs: 0, checks: [check("demask", true), check("polish", false)] })).toBe("release.not-safe");
    expect(why({ nowMs: 0, checks: [check("polish", true)] })).toBeNull();
    const never = exampleFigures({ stages: [] });
    expect(why({ figures: never })).toBe("release.never-safe");
    expect(why({ figures: never, checks: [check("polish", true)] })).toBeNull();
  });
  it("waits for an answer to every deviation, also when a check found it ready", () => {
    const figures = exampleFigures({ deviations: ["gap", "covered-early"] });
    const answer = { deviation: "gap", answer: "felt by hand", who: "Q", atMs: 0 };
    expect(why({ figures, answers: [answer], checks: [check("polish", true)] })).toBe("release.answer-first");
    expect(why({ figures, answers: [answer, { ...answer, deviation: "covered-early" }] })).toBeNull();
  });
  it("is not for a coat that was taken back, is held or was released", () => {
    expect(why({ coat: { ...coat, withdrawn: { reason: "mistap", who: "P", atMs: 0 } } })).toBe(
      "record-fault.coat-withdrawn",
    );
    expect(why({ coat: { ...coat, verdict: { ...by, state: "held", words: "runs" } } })).toBe("record-fault.coat-held");
    expect(why({ coat: { ...coat, verdict: { ...by, state: "released", words: "fine" } } })).toBe("release.already");
  });
});
