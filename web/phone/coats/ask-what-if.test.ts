import { describe, expect, it } from "vitest";
import { exampleClock } from "../../parts/example-words.ts";
import { askWhatIf } from "./ask-what-if.ts";

const { words } = exampleClock();

const question = { car: "car-1", steps: [] };
const answering =
  (body: unknown, status = 200) =>
  async () =>
    Response.json(body, { status });

describe("askWhatIf", () => {
  it("posts the question as JSON and gives the answer back", async () => {
    const sent: [string, RequestInit][] = [];
    const answer = await askWhatIf(
      question,
      async (url, options) => {
        sent.push([url, options]);
        return Response.json({ asOf: "2026-03-02T08:00:00Z" });
      },
      words,
      new AbortController().signal,
    );
    expect(answer).toEqual({ kind: "answer", view: { asOf: "2026-03-02T08:00:00Z" } });
    expect(sent[0]?.[0]).toBe("/api/what-if");
    expect(sent[0]?.[1]).toMatchObject({ method: "POST", body: '{"car":"car-1","steps":[]}' });
  });
  it("gives the predictor's own words, and each fault with what was expected and found", async () => {
    const problem = {
      detail: "The question does not fit.",
      faults: [{ path: "steps.0.place", expected: "a place of the shop", found: "cellar" }],
    };
    expect(await askWhatIf(question, answering(problem, 422), words, new AbortController().signal)).toEqual({
      kind: "fault",
      text: "The question does not fit.",
      faults: ["steps.0.place: expected a place of the shop, found cellar."],
    });
  });
  it("says the status where the refusal has no words", async () => {
    const send = async () => new Response("<h1>Bad gateway</h1>", { status: 502 });
    expect(await askWhatIf(question, send, words, new AbortController().signal)).toEqual({
      kind: "fault",
      text: "The predictor answered with 502.",
      faults: [],
    });
  });
  it("says that the predictor does not answer", async () => {
    const send = () => Promise.reject(new TypeError("failed to fetch"));
    expect(await askWhatIf(question, send, words, new AbortController().signal)).toMatchObject({
      kind: "fault",
      text: "The predictor does not answer.",
    });
  });
  it("says nothing of a question that was given up", async () => {
    const given = new AbortController();
    given.abort();
    const send = () => Promise.reject(new DOMException("aborted", "AbortError"));
    expect(await askWhatIf(question, send, words, given.signal)).toBeNull();
  });
});
