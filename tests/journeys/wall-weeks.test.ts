/** A wall that hangs for weeks: many thousand views and broken streams leave nothing behind in the browser. */
import type { Browser, CDPSession, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openBrowser, openPage, wallSize } from "./browser.ts";
import { airOf, coatsOf, nowMs, overviewOf, placeWith, warningOf } from "./invented-views.ts";
import { type Pretend, startPretend } from "./pretend.ts";

let server: Pretend;
let browser: Browser;
beforeAll(async () => {
  server = await startPretend({ place: placeWith({}), overview: overviewOf(6) });
  browser = await openBrowser();
}, 60_000);
afterAll(async () => {
  await browser?.close();
  await server?.stop();
});

/** From one view to the next, so that the hours, the pages and the chart move on as they do in days. */
const stepMs = 20_000;
/** COATCLOCK_ROUNDS asks for more of them: a longer life. */
const rounds = Number(process.env.COATCLOCK_ROUNDS ?? 3);
/** Each round is measured in the same view. */
const roundViews = 420;
const iso = (ms: number) => new Date(ms).toISOString();

/** No two neighbours alike: coats come and go, warnings too, figures grow old, verdicts turn. */
const views: Record<string, (n: number) => object> = {
  place: (n) => {
    const climate = airOf(18 + (n % 40) / 10, 40 + (n % 30), n % 5 === 0 ? null : 17 + (n % 40) / 10);
    const asOf = iso(nowMs + n * stepMs);
    if (climate.airC !== null && n % 3 !== 0) climate.airC.at = asOf;
    return placeWith({
      asOf,
      climate,
      coats: coatsOf([0, 1, 2, 3, 5, 9][n % 6] ?? 0, n % 7),
      warnings: n % 4 === 0 ? [] : [warningOf("booth", n % 2 === 0 ? "now" : "soon", { text: `Warning ${n}` })],
      verdict: { state: n % 2 === 0 ? "spray" : "do not spray", reason: `For reason ${n}`, sheets: ["one"] },
    });
  },
  overview: (n) => ({ ...overviewOf(1 + (n % 8)), asOf: iso(nowMs + n * stepMs) }),
};

/** A reading that comes between two views. */
const readingAfter = (n: number) => ({
  place: "booth",
  quantity: "air-temperature",
  sensor: "probe",
  at: iso(nowMs + n * stepMs + stepMs / 2),
  value: 18 + (n % 17) / 10,
});

interface Held {
  heapMB: number;
  nodes: number;
  listeners: number;
}

/** What the page holds once its rubbish is collected. */
async function heldBy(session: CDPSession): Promise<Held> {
  for (let round = 0; round < rounds; round++) await session.send("HeapProfiler.collectGarbage");
  const { metrics } = await session.send("Performance.getMetrics");
  const value = (name: string) => metrics.find((metric) => metric.name === name)?.value ?? Number.NaN;
  return { heapMB: value("JSHeapUsedSize") / 1e6, nodes: value("Nodes"), listeners: value("JSEventListeners") };
}

/** Sends views, and breaks the streams `breaks` times on the way; each time the page comes back by itself. */
async function live(page: Page, event: string, from: number, count: number, breaks: number): Promise<void> {
  const view = views[event];
  if (view === undefined) throw new Error(`no views for ${event}`);
  const breakEvery = Math.floor(count / breaks);
  for (let n = from; n < from + count; n++) {
    await server.say(event, view(n));
    if (event === "place") await server.say("reading", readingAfter(n));
    // So that views are drawn and not only queued.
    if (n % 10 === 0) await page.evaluate("new Promise((drawn) => requestAnimationFrame(drawn))");
    if ((n - from + 1) % breakEvery === 0) {
      const opened = server.opened();
      server.breakStreams();
      await expect.poll(() => server.opened(), { timeout: 30_000, interval: 20 }).toBeGreaterThan(opened);
    }
  }
}

/** Of the same view before and after, so that only what was left behind differs. */
async function settle(page: Page, event: string, n: number): Promise<void> {
  const view = views[event]?.(n) ?? {};
  await server.say(event, view);
  await expect.poll(() => page.locator(".turning, .head-clock, .over-head time").count()).toBeGreaterThan(0);
  await page.waitForTimeout(2_500);
}

describe("a wall that hangs for weeks", () => {
  it.each([
    ["place", "/wall/booth"],
    ["overview", "/wall"],
  ])(
    "holds no more after a thousand views and 50 broken streams than before them (%s)",
    async (event, path) => {
      const { page, context } = await openPage(browser, server.address + path, wallSize);
      const session = await context.newCDPSession(page);
      await session.send("Performance.enable");
      await page.locator(".track, .coats").first().waitFor();
      const held: Held[] = [];
      for (let round = 0; round < rounds; round++) {
        await live(page, event, round * roundViews, roundViews, 17);
        await settle(page, event, 0);
        held.push(await heldBy(session));
      }
      console.log(`${event}: after each of ${rounds} × ${roundViews} views and 17 breaks: ${JSON.stringify(held)}`);
      expect(await page.locator(".lost").count()).toBe(0);
      // The first round warms up: compiled code and caches. After it each round ends in the same picture.
      const [before, after] = [held[0], held.at(-1)] as [Held, Held];
      expect(after.heapMB - before.heapMB).toBeLessThan(0.5);
      expect(after.nodes - before.nodes).toBeLessThan(50);
      expect(after.listeners - before.listeners).toBeLessThan(10);
      await context.close();
    },
    1_800_000,
  );
});
