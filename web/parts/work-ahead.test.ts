import { describe, expect, it } from "vitest";
import type { PotView, StartByView } from "../../predictor/serve/api.ts";
import { minutes } from "./example-coat.ts";
import { examplePlace } from "./example-place.ts";
import { exampleClock } from "./example-words.ts";
import { potWords, pressingPots, startByWords } from "./work-ahead.ts";

const clock = exampleClock();
const now = minutes(30);
const iso = (after: number) => new Date(minutes(after)).toISOString();
const entry = (place: string, safe: number | null, likely: number | null): StartByView => ({
  place: { id: place, name: place === "booth" ? "Booth" : "Workshop", kind: "workshop" },
  sheet: { id: "clear", name: "Demo clear", kind: "clearcoat" },
  stage: "demask",
  by: iso(540),
  safeFinishBy: safe === null ? null : iso(safe),
  likelyFinishBy: likely === null ? null : iso(likely),
});
const words = (...startBy: StartByView[]) => startByWords({ ...examplePlace(), startBy }, clock, now);

describe("startByWords", () => {
  it("asks once for a sheet and a stage, and answers for the place itself first", () => {
    expect(words(entry("workshop", 485, 500), entry("booth", 472, 480))).toEqual([
      {
        id: `clear demask ${iso(540)}`,
        question: "To unmask by 17:00, finish the clearcoat by",
        answers: [
          { place: "here", time: "15:52", word: "" },
          { place: "in Workshop", time: "16:05", word: "" },
        ],
      },
    ]);
  });
  it("says where the stage would only be likely, and where it is too late", () => {
    const [said] = words(entry("booth", null, null), entry("workshop", null, 60));
    expect(said?.answers).toEqual([
      { place: "here", time: null, word: "too late today" },
      { place: "in Workshop", time: "09:00", word: "then check first" },
    ]);
  });
  it("leaves other places out where it is too late", () => {
    const said = (...startBy: StartByView[]) => words(...startBy)[0]?.answers.map(({ place, word }) => place + word);
    expect(said(entry("workshop", null, null), entry("booth", 472, 480))).toEqual(["here"]);
    expect(said(entry("workshop", null, null), entry("booth", null, null))).toEqual(["heretoo late today"]);
  });
  it("does not tell anyone to finish in the past", () => {
    expect(words(entry("booth", 20, 40))[0]?.answers[0]).toMatchObject({ time: "08:40", word: "then check first" });
    expect(words(entry("booth", 20, 25))[0]?.answers[0]).toMatchObject({ time: null, word: "too late today" });
  });
  it("names the sheets where two are of one kind", () => {
    const other = { ...entry("booth", 400, 410), sheet: { id: "fast", name: "Demo fast clear", kind: "clearcoat" } };
    expect(words(entry("booth", 472, 480), other).map(({ question }) => question)).toEqual([
      "To unmask by 17:00, finish Demo clear by",
      "To unmask by 17:00, finish Demo fast clear by",
    ]);
  });
  it("words a stage that is no task of a hand", () => {
    expect(words({ ...entry("booth", 472, 480), stage: "dust-free" })[0]?.question).toBe(
      "To have it dust free by 17:00, finish the clearcoat by",
    );
  });
});

const pot = (state: PotView["state"], useBy: number | null): PotView => ({
  id: `pot-${state}`,
  sheet: { id: "clear", name: "Demo clear", kind: "clearcoat" },
  place: { id: "mixing", name: "Mixing room", kind: "mixing" },
  mixedAt: iso(0),
  usedPercent: 40,
  useBy: useBy === null ? null : iso(useBy),
  endsAt: useBy === null ? null : iso(useBy + 10),
  state,
});

describe("potWords", () => {
  it("gives the early edge of a pot's life as long as it lasts", () => {
    expect(potWords(pot("good", 60), clock, now)).toEqual({
      id: "pot-good",
      state: "good",
      name: "Clearcoat mixed 08:00",
      word: "use by",
      time: "09:00",
    });
    expect(potWords(pot("closing", 35), clock, now)).toMatchObject({ word: "use up now, by", time: "08:35" });
  });
  it("says since when a pot is too old, and that nothing is known without a reading", () => {
    expect(potWords(pot("over", 10), clock, now)).toMatchObject({ word: "may be too old since", time: "08:10" });
    expect(potWords(pot("unknown", null), clock, now)).toMatchObject({ word: "life unknown", time: null });
  });
});

describe("pressingPots", () => {
  it("keeps to the pots that are closing or over while there are any", () => {
    const [good, closing, over] = [pot("good", 60), pot("closing", 35), pot("over", 10)];
    expect(pressingPots([over, closing, good])).toEqual([over, closing]);
    expect(pressingPots([good])).toEqual([good]);
  });
});
