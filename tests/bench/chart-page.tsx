/** In a browser: a week's chart of ours beside bare uPlot with the same two lines. */
import { render } from "preact";
import { act } from "preact/test-utils";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Climate, ClimateHistory } from "../../predictor/serve/api.ts";
import { ClimateChart } from "../../web/parts/climate-chart.tsx";
import { shopClock } from "../../web/parts/shop-clock.ts";
import { wordsOf } from "../../words/words.ts";
import type { ChartTimes } from "./chart-times.ts";

const weekMs = 7 * 86_400_000;
const size = { leftPx: 60, rightPx: 60, heightPx: 400, fontPx: 20 };
const widthPx = 1200;
const endMs = Date.UTC(2026, 10, 23);
const clock = shopClock("UTC", wordsOf({ language: "en", timeZone: "UTC", units: { temperature: "C", clock: "24h" } }));

declare global {
  interface Window {
    measureCharts(points: number, runs: number): Promise<ChartTimes>;
  }
}

/** Air and humidity of a week, evenly spaced, seeded by `run` so that no two are alike. */
function weekOf(points: number, run: number) {
  const atMs = Array.from({ length: points }, (_, n) => endMs - weekMs + Math.round((n * weekMs) / points));
  const air = atMs.map((_, n) => 19 + 4 * Math.sin(n / 900 + run) + 0.4 * Math.sin(n * 1.7));
  const humidity = atMs.map((_, n) => 50 + 12 * Math.cos(n / 1100 + run) + Math.sin(n * 2.3));
  return { atMs, air, humidity };
}
type Week = ReturnType<typeof weekOf>;

const historyOf = ({ atMs, air, humidity }: Week): ClimateHistory => {
  const none = atMs.map(() => null);
  return {
    at: atMs.map((ms) => new Date(ms).toISOString()),
    airC: { mean: air, min: air, max: air },
    rhPercent: { mean: humidity, min: humidity, max: humidity },
    panelC: { mean: none, min: none, max: none },
    dewPointC: none,
  } as unknown as ClimateHistory;
};

/** From the call until the canvas holds the drawing. */
async function timed(host: HTMLElement, draw: () => void): Promise<number> {
  await new Promise((resolve) => setTimeout(resolve, 20));
  const startMs = performance.now();
  draw();
  // uPlot draws at the end of the task.
  await Promise.resolve();
  host.querySelector("canvas")?.getContext("2d")?.getImageData(0, 0, 1, 1);
  return performance.now() - startMs;
}

window.measureCharts = async (points, runs) => {
  const [bareHost, ourHost] = [document.createElement("div"), document.createElement("div")];
  document.body.append(bareHost, ourHost);
  ourHost.style.width = `${widthPx}px`;
  const scale = { fromMs: endMs - weekMs, toMs: endMs, ticksMs: [endMs - weekMs / 2] };
  const bare = new uPlot(
    {
      width: widthPx,
      height: size.heightPx,
      legend: { show: false },
      cursor: { show: false },
      scales: { t: {}, rh: { range: [0, 100] } },
      series: [
        {},
        { scale: "t", stroke: "#f3e9c9", width: 4, points: { show: false } },
        { scale: "rh", stroke: "#8fe0c8", width: 1.5, points: { show: false } },
      ],
      axes: [{}, { scale: "t" }, { scale: "rh", side: 1 }],
    },
    [[], [], []],
    bareHost,
  );
  const drawBare = (week: Week) => bare.setData([week.atMs.map((ms) => ms / 1000), week.air, week.humidity]);
  const drawOurs = (history: ClimateHistory, climate: Climate | null, nowMs: number) =>
    void act(() =>
      render(
        <ClimateChart
          history={history}
          climate={climate}
          ahead={null}
          scale={scale}
          size={size}
          unit="C"
          clock={clock}
          nowMs={nowMs}
          lost={false}
        />,
        ourHost,
      ),
    );
  const climateAt = (nowMs: number, value: number) => {
    const current = { value, at: new Date(nowMs).toISOString(), sensor: "bench/probe", currentForSeconds: 60 };
    return {
      airC: current,
      rhPercent: { ...current, value: 50 },
      panelC: null,
      airSpeedMps: null,
      dewPointC: 9,
    } as unknown as Climate;
  };
  const times: ChartTimes = { bareRedrawMs: [], bareAppendMs: [], ourRedrawMs: [], ourAppendMs: [] };
  for (let run = 0; run < runs; run++) {
    const week = weekOf(points, run);
    const history = historyOf(week);
    times.bareRedrawMs.push(await timed(bareHost, () => drawBare(week)));
    times.ourRedrawMs.push(await timed(ourHost, () => drawOurs(history, null, endMs)));
    const nowMs = endMs + 10_000;
    week.atMs.push(nowMs);
    week.air.push(20);
    week.humidity.push(50);
    times.bareAppendMs.push(await timed(bareHost, () => drawBare(week)));
    times.ourAppendMs.push(await timed(ourHost, () => drawOurs(history, climateAt(nowMs, 20), nowMs)));
  }
  return times;
};
