/** Air, panel, dew point and humidity of a place on the rails' own axis. */
import { useEffect, useMemo, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Climate, ClimateHistory } from "../../predictor/serve/api.ts";
import { type ClimateLines, climateLines, temperatureRange } from "./climate-lines.ts";
import type { ShopClock } from "./shop-clock.ts";
import { shareOf, type TimeScale } from "./time-scale.ts";
import { useWidth } from "./use-size.ts";

/** Room beside the plot, equal to the rails' own, so that both stand on one axis; without room the labels stand inside. CSS pixels. */
export interface ChartSize {
  leftPx: number;
  rightPx: number;
  heightPx: number;
  fontPx: number;
}

interface Props {
  history: ClimateHistory | null;
  climate: Climate;
  scale: TimeScale;
  size: ChartSize;
  unit: "C" | "F";
  clock: ShopClock;
  nowMs: number;
  /** Greyed while the connection is lost. */
  lost: boolean;
}

/** How each line is drawn: colour, dash and width differ, so that none is told by colour alone. */
const pens = {
  air: { colour: "#f3e9c9", dash: [], width: 4 },
  panel: { colour: "#f7b733", dash: [2, 5], width: 4 },
  dewPoint: { colour: "#9ecbff", dash: [14, 7], width: 3 },
  humidity: { colour: "#8fe0c8", dash: [], width: 1.5 },
} as const;
const grey = "#b3b3ab";

type ChartData = [number[], ...ClimateLines["air"][]];

/** The chart, its line names and a text alternative; takes the width it is given. */
export function ClimateChart({ history, climate, scale, size, unit, clock, nowMs, lost }: Props) {
  const frame = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const widthPx = useWidth(frame);
  const liveSecond = Math.floor(nowMs / 10_000) * 10_000;
  const lines = useMemo(() => climateLines(history, climate, unit, liveSecond), [history, climate, unit, liveSecond]);
  const mostTicks = size.heightPx > size.fontPx * 7 ? 4 : 2;
  const range = useMemo(
    () => temperatureRange(lines, scale.fromMs / 1000, scale.toMs / 1000, mostTicks),
    [lines, scale.fromMs, scale.toMs, mostTicks],
  );
  const shown = useRef({ scale, range, clock });
  shown.current = { scale, range, clock };
  const { leftPx, rightPx, heightPx, fontPx } = size;

  useEffect(() => {
    const host = frame.current;
    if (host === null || !(widthPx > 0 && heightPx > 0)) return;
    const options = optionsFor({ leftPx, rightPx, heightPx, fontPx }, widthPx, lost, shown);
    const made = new uPlot(options, [[], [], [], [], [], [], []], host);
    plot.current = made;
    return () => {
      made.destroy();
      plot.current = null;
    };
  }, [widthPx, leftPx, rightPx, heightPx, fontPx, lost]);

  // A plot made anew needs its data anew.
  useEffect(() => {
    const { atSeconds, air, airLeast, airMost, panel, dewPoint, humidity } = lines;
    const data: ChartData = [atSeconds, humidity, airLeast, airMost, dewPoint, panel, air];
    plot.current?.setData(data);
  }, [lines, range, scale.fromMs, scale.toMs, widthPx, leftPx, rightPx, heightPx, fontPx, lost]);

  return (
    <figure class="chart">
      <div class="chart-plot" ref={frame} role="img" aria-label={chartText(lines, unit, scale, clock)} />
      <figcaption class="chart-names" aria-hidden="true">
        <LineName name="air" pen="air" />
        {lines.panel.some((value) => value !== null) && <LineName name="panel" pen="panel" />}
        <LineName name="dew point" pen="dewPoint" />
        <LineName name="humidity %" pen="humidity" />
      </figcaption>
    </figure>
  );
}

function LineName({ name, pen }: { name: string; pen: keyof typeof pens }) {
  const { colour, dash, width } = pens[pen];
  return (
    <span class="chart-name">
      <svg viewBox="0 0 48 10" aria-hidden="true" focusable="false">
        <path d="M0 5 H48" fill="none" stroke={colour} stroke-width={width} stroke-dasharray={dash.join(" ")} />
      </svg>
      {name}
    </span>
  );
}

function optionsFor(
  size: ChartSize,
  widthPx: number,
  lost: boolean,
  shown: { current: { scale: TimeScale; range: { min: number; max: number; ticks: number[] }; clock: ShopClock } },
): uPlot.Options {
  const font = `${size.fontPx}px "DejaVu Sans Condensed", "Roboto Condensed", system-ui, sans-serif`;
  const axis = { stroke: lost ? grey : "#d8d3c2", font, ticks: { show: false }, gap: size.fontPx * 0.4 };
  const sideGap = (roomPx: number, characters: number) => size.fontPx * (roomPx > 0 ? 0.4 : -0.62 * characters);
  const grid = { stroke: "#3a4247", width: 1 };
  const line = (pen: keyof typeof pens, scale: string): uPlot.Series => ({
    scale,
    stroke: lost ? grey : pens[pen].colour,
    width: pens[pen].width * Math.max(0.6, size.fontPx / 26),
    dash: [...pens[pen].dash],
    points: { show: false },
  });
  const edge: uPlot.Series = { scale: "t", stroke: "transparent", points: { show: false } };
  return {
    width: widthPx,
    height: size.heightPx,
    padding: [size.fontPx * 0.6, 0, 0, 0],
    legend: { show: false },
    cursor: { show: false },
    scales: {
      x: { time: false, range: () => [shown.current.scale.fromMs / 1000, shown.current.scale.toMs / 1000] },
      t: { range: () => [shown.current.range.min, shown.current.range.max] },
      rh: { range: () => [0, 100] },
    },
    series: [{}, line("humidity", "rh"), edge, edge, line("dewPoint", "t"), line("panel", "t"), line("air", "t")],
    bands: [{ series: [3, 2], fill: lost ? "#b3b3ab33" : "#f3e9c933" }],
    axes: [
      {
        ...axis,
        size: size.fontPx * 1.4,
        grid,
        splits: () => shown.current.scale.ticksMs.map((ms) => ms / 1000),
        values: (_plot, splits) =>
          splits.map((seconds) => {
            const share = shareOf(shown.current.scale, seconds * 1000);
            const cut = (size.leftPx === 0 && share < 0.07) || (size.rightPx === 0 && share > 0.93);
            return cut ? "" : shown.current.clock.time(seconds * 1000);
          }),
      },
      {
        ...axis,
        scale: "t",
        gap: sideGap(size.leftPx, 3),
        size: size.leftPx,
        grid,
        splits: () => shown.current.range.ticks,
        values: (_plot, splits) => splits.map((degrees) => `${String(degrees).replace("-", "−")}°`),
      },
      {
        ...axis,
        scale: "rh",
        side: 1,
        gap: sideGap(size.rightPx, 4),
        size: size.rightPx,
        grid: { show: false },
        splits: () => [0, 50, 100],
        values: (_plot, splits) => splits.map((percent) => `${percent}%`),
      },
    ],
  };
}

function chartText(lines: ClimateLines, unit: "C" | "F", scale: TimeScale, clock: ShopClock): string {
  const onAxis = (_: number | null, index: number) => (lines.atSeconds[index] ?? 0) * 1000 >= scale.fromMs;
  const spread = (name: string, values: (number | null)[], sign: string) => {
    const known = values.filter(onAxis).filter((value) => value !== null);
    if (known.length === 0) return `${name} not known`;
    return `${name} ${Math.min(...known).toFixed(1)} to ${Math.max(...known).toFixed(1)} ${sign}`;
  };
  const parts = [
    spread("air", lines.air, `°${unit}`),
    spread("panel", lines.panel, `°${unit}`),
    spread("dew point", lines.dewPoint, `°${unit}`),
    spread("humidity", lines.humidity, "%"),
  ];
  return `Since ${clock.time(scale.fromMs)}: ${parts.join(", ")}.`;
}
