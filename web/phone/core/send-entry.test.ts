import { afterEach, describe, expect, it, vi } from "vitest";
import { speak } from "../../parts/device-memory.ts";
import { exampleClock } from "../../parts/example-words.ts";
import type { Waiting } from "./outbox-store.ts";
import { aboutOf, sendEntry, whoIsSignedIn } from "./send-entry.ts";

const entry: Waiting = {
  seq: 1,
  key: "k".repeat(22),
  method: "PATCH",
  path: "/api/coats/7",
  body: { reason: "comb read anew" },
  label: "coat corrected",
  about: "cars/1",
  who: "Painter A",
  madeAtMs: 0,
  page: "/coats/7",
  state: "waiting",
  detail: null,
};

speak(exampleClock().words);
afterEach(() => vi.unstubAllGlobals());

function answering(status: number, body: unknown = {}) {
  const fetched = vi.fn(async (_url: string, _options: RequestInit) => Response.json(body, { status }));
  vi.stubGlobal("fetch", fetched);
  return fetched;
}

describe("sendEntry", () => {
  it("sends method, body and key", async () => {
    const fetched = answering(200, { known: true });
    expect(await sendEntry(entry)).toEqual({ kind: "taken" });
    const [url, options] = fetched.mock.calls[0] ?? [];
    expect(url).toBe("/api/coats/7");
    expect(options).toMatchObject({ method: "PATCH", body: '{"reason":"comb read anew"}' });
    expect(options?.headers).toMatchObject({ "idempotency-key": entry.key });
  });
  it("tells what is refused for good, in the predictor's words, from what may go later", async () => {
    answering(409, { detail: "No such coat." });
    expect(await sendEntry(entry)).toEqual({ kind: "refused", detail: "No such coat." });
    answering(422, { detail: "Not so.", faults: [{ path: "filmUm", expected: "a number", found: "x" }] });
    expect(await sendEntry(entry)).toEqual({
      kind: "refused",
      detail: "Not so. filmUm: expected a number, found x.",
    });
    answering(403, { detail: "For the quality lead." });
    expect(await sendEntry(entry)).toMatchObject({ kind: "refused" });
    answering(401);
    expect(await sendEntry(entry)).toEqual({ kind: "sign in" });
    for (const status of [408, 429, 500, 503, 507]) {
      answering(status);
      expect(await sendEntry(entry), String(status)).toEqual({ kind: "failed" });
    }
  });
  it("counts as unanswered what is no answer of the predictor: a broken link, or a page of something on the way", async () => {
    vi.stubGlobal("fetch", () => Promise.reject(new TypeError("failed to fetch")));
    expect(await sendEntry(entry)).toEqual({ kind: "no answer" });
    expect(await whoIsSignedIn()).toBe("no answer");
    vi.stubGlobal("fetch", async () => new Response("<h1>Welcome to the network</h1>"));
    expect(await sendEntry(entry)).toEqual({ kind: "no answer" });
    expect(await whoIsSignedIn()).toBe("no answer");
  });
});

describe("aboutOf", () => {
  const carOfCoat = (coat: string) => (coat === "c 7" ? "1" : null);
  it("is the car, also for a coat of it, and for the car that is being made", () => {
    expect(aboutOf("/api/cars/1/moves", {}, carOfCoat)).toBe("cars/1");
    expect(aboutOf("/api/coats/c%207/checks", {}, carOfCoat)).toBe("cars/1");
    expect(aboutOf("/api/cars", { id: "1" }, carOfCoat)).toBe("cars/1");
  });
  it("is the thing itself where no car is known for it", () => {
    expect(aboutOf("/api/coats/8/checks", {}, carOfCoat)).toBe("coats/8");
    expect(aboutOf("/api/mixes/3/emptied", {}, carOfCoat)).toBe("mixes/3");
  });
});
