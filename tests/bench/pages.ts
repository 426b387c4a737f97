/** What the wall and the phone weigh, how soon they can be used on a slow machine, and how fast a week's chart is drawn. */

import type { Browser } from "playwright-core";
import { build, type Rolldown } from "vite";
import { pointsAtMost } from "../../predictor/serve/history.ts";
import { languages } from "../../words/language.ts";
import { openBrowser, phoneSize, wallSize } from "../journeys/browser.ts";
import { startProgram } from "../journeys/program.ts";
import type { ChartTimes } from "./chart-times.ts";
import { bareWeight, pageWeight, projectFolder } from "./page-weight.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const slowedTimes = 4;
const usableWithinMs = 2_000;
const openings = 5;
const chartPoints = 60_000;
const chartRuns = 15;

export async function pagesBench(): Promise<BenchRow[]> {
  const browser = await openBrowser();
  try {
    return [...(await weightRows()), ...(await usableRows(browser)), ...(await chartRows(browser))];
  } finally {
    await browser.close();
  }
}

/** Each page in the language in which it is heavier; the wall with the code that it draws. */
async function weightRows(): Promise<BenchRow[]> {
  const floorValue = (await bareWeight()) / 1000;
  const heaviest = (document: "index.html" | "wall.html", withLater: boolean) =>
    Math.max(
      ...languages.map((language) => {
        const { atOnce, later } = pageWeight(document, language);
        return (atOnce + (withLater ? later : 0)) / 1000;
      }),
    );
  const row = (name: string, value: number) =>
    benchRow({ name, floor: "Preact and uPlot, bundled", floorValue, value, unit: "kB packed" }, { most: 2.5 });
  return [row("phone: weight", heaviest("index.html", false)), row("wall: weight", heaviest("wall.html", true))];
}

/** The rehearsal shop, opened for the first time by a browser whose processor is slowed. */
async function usableRows(browser: Browser): Promise<BenchRow[]> {
  const program = await startProgram();
  try {
    const rows: BenchRow[] = [];
    for (const [name, path, selector, size] of [
      ["phone", "/", ".cars li a", phoneSize],
      ["wall", "/wall", ".tracks canvas, .tracks svg", wallSize],
    ] as const) {
      // The program has just started: the first opening finds it busy.
      await usableAfterMs(browser, program.address + path, selector, size);
      const usableMs: number[] = [];
      for (let opening = 0; opening < openings; opening++) {
        usableMs.push(await usableAfterMs(browser, program.address + path, selector, size));
      }
      const value = median(usableMs);
      rows.push(
        benchRow(
          {
            name: `${name}: usable after, processor slowed ${slowedTimes} times`,
            floor: "what a person waits for",
            floorValue: usableWithinMs,
            value,
            unit: "ms",
          },
          { most: 1 },
        ),
      );
    }
    return rows;
  } finally {
    await program.stop();
  }
}

/** From the request for the page until what is looked for stands there and the page answers to a hand again. */
async function usableAfterMs(
  browser: Browser,
  url: string,
  selector: string,
  viewport: { width: number; height: number },
): Promise<number> {
  const context = await browser.newContext({ viewport });
  try {
    const page = await context.newPage();
    const session = await context.newCDPSession(page);
    await session.send("Emulation.setCPUThrottlingRate", { rate: slowedTimes });
    await page.addInitScript(markOf(selector));
    await page.goto(url);
    await page.waitForSelector(selector);
    return await page.evaluate<number>("usableAfterMs");
  } finally {
    await context.close();
  }
}

/** In the page: when what is looked for stands there, after the frame that shows it. */
const markOf = (selector: string) => `
  globalThis.usableAfterMs = new Promise((resolve) => {
    const watch = new MutationObserver(() => {
      if (document.querySelector(${JSON.stringify(selector)}) === null) return;
      watch.disconnect();
      requestAnimationFrame(() => setTimeout(() => resolve(performance.now())));
    });
    watch.observe(document, { childList: true, subtree: true });
  });`;

async function chartRows(browser: Browser): Promise<BenchRow[]> {
  const { script, style } = await chartProgram();
  const page = await browser.newPage({ viewport: wallSize });
  try {
    await page.setContent("<!doctype html><body></body>");
    await page.addStyleTag({ content: style });
    await page.addScriptTag({ content: script, type: "module" });
    await page.waitForFunction("globalThis.measureCharts !== undefined");
    const times = await page.evaluate<ChartTimes>(`measureCharts(${chartPoints}, ${chartRuns})`);
    const asAnswered = await page.evaluate<ChartTimes>(`measureCharts(${pointsAtMost}, ${chartRuns})`);
    const row = (name: string, floorMs: number[], ourMs: number[]) =>
      benchRow(
        {
          name,
          floor: "bare uPlot, two lines of 60,000 points",
          floorValue: median(floorMs),
          value: median(ourMs),
          unit: "ms",
        },
        { most: 2 },
      );
    return [
      row("chart of a week as it is answered, 2,000 points: drawn anew", times.bareRedrawMs, asAnswered.ourRedrawMs),
      row("chart of a week as it is answered, 2,000 points: appended", times.bareAppendMs, asAnswered.ourAppendMs),
      row("chart of a week, 60,000 points: drawn anew", times.bareRedrawMs, times.ourRedrawMs),
      row("chart of a week, 60,000 points: one appended", times.bareAppendMs, times.ourAppendMs),
    ];
  } finally {
    await page.close();
  }
}

/** The page that draws both, bundled. */
async function chartProgram(): Promise<{ script: string; style: string }> {
  const built = await build({
    root: projectFolder,
    configFile: false,
    publicDir: false,
    logLevel: "silent",
    oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
    build: {
      write: false,
      target: "es2022",
      modulePreload: { polyfill: false },
      rolldownOptions: { input: "tests/bench/chart-page.tsx" },
    },
  });
  const { output } = built as Rolldown.RolldownOutput;
  const script = output.find((each) => each.type === "chunk")?.code ?? "";
  const style = output.find(({ fileName }) => fileName.endsWith(".css"));
  return { script, style: style?.type === "asset" ? String(style.source) : "" };
}
