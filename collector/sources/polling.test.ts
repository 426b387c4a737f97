import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import { afterEach, expect, it, vi } from "vitest";
import type { Answer, Polled } from "./polling.ts";
import { PollingSource } from "./polling.ts";
import type { Measurement, Outlet } from "./source.ts";

const good = (value: number): Answer => ({
  measurements: [{ sensor: "bay-2", quantity: "air-temperature", value }],
  faults: [],
});
const bad = (kind: string, words?: string): Answer => ({
  measurements: [],
  faults: [{ kind, ...(words === undefined ? {} : { words }) }],
});

let source: PollingSource;
let taken: Measurement[] = [];
afterEach(() => source.stop());

function start(polled: Polled[], everySeconds = 0.05): void {
  taken = [];
  const outlet: Outlet = {
    measured: (more) => void taken.push(...more),
    put: () => undefined,
    room: async () => undefined,
  };
  source = new PollingSource("source", everySeconds, polled, pino({ level: "silent" }));
  source.start(outlet);
}

/** Gives its answers one by one, then the last for ever, and counts how often it was asked. */
function probe(name: string, ...answers: Answer[]): Polled & { asked: number } {
  return {
    name,
    asked: 0,
    async ask() {
      this.asked += 1;
      return answers[Math.min(this.asked, answers.length) - 1] ?? good(0);
    },
  };
}

/** The states the source went through, in order. */
async function saidUntil(isOver: () => boolean): Promise<string[]> {
  const said: string[] = [];
  while (!isOver()) {
    const { state } = source.state();
    if (state !== said.at(-1)) said.push(state);
    await delay(1);
  }
  return said;
}

it("says nothing of a single bad reading between good ones, but counts it", async () => {
  const one = probe("one", good(1), bad("wrong check"), good(2));
  start([one]);
  const said = await saidUntil(() => one.asked === 5);
  expect(said).toEqual(["beginning", "reading"]);
  expect(source.state().counters["wrong check"]).toBe(1);
  expect(taken.map(({ value }) => value).slice(0, 2)).toEqual([1, 2]);
});

it("says what is wrong with each that is bad at the start or twice running, and takes it back with the first good one", async () => {
  const two = probe("two", good(1), bad("unplugged"), bad("unplugged"), bad("unplugged"), good(2));
  start([probe("one", bad("several", "several: a or b")), two]);
  expect(await saidUntil(() => two.asked === 6)).toEqual([
    "beginning",
    "reading 1 of 2; one: several: a or b",
    "reading 0 of 2; one: several: a or b; two: unplugged",
    "reading 1 of 2; one: several: a or b",
  ]);
  expect(source.state().counters.unplugged).toBe(3);
});

it("asks one after another, and after a long turn goes on at the next whole interval", async () => {
  const atMs: number[] = [];
  let isAsking = false;
  const slow: Polled = {
    name: "slow",
    async ask() {
      expect(isAsking).toBe(false);
      isAsking = true;
      atMs.push(performance.now());
      await delay(atMs.length === 1 ? 250 : 1);
      isAsking = false;
      return good(1);
    },
  };
  start([slow], 0.2);
  await vi.waitFor(() => expect(atMs.length).toBeGreaterThanOrEqual(3), 5000);
  const [first = 0, second = 0] = atMs;
  expect(second - first).toBeGreaterThan(380);
});

it("puts nothing out that is answered after stop", async () => {
  let answer: (given: Answer) => void = () => undefined;
  start([{ name: "late", ask: () => new Promise((resolve) => (answer = resolve)) }]);
  const stopped = source.stop();
  answer(good(1));
  await stopped;
  expect(taken).toEqual([]);
  expect(source.state()).toEqual({ state: "stopped", counters: {} });
});
