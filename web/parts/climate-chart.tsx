/** Air, panel, dew point and humidity of a place, or of a coat's way, on the rails' own axis; the air to be expected, or how far the coat cured. */
import { useEffect, useMemo, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Climate, ClimateHistory, CoatCourse, HoursAhead } from "../../predictor/serve/api.ts";
import { type ClimateLines, climateLines, pastLines, temperatureRange } from "./climate-lines.ts";
import { climateText } from "./climate-text.ts";
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
  history: ClimateHistory | CoatCourse | null;
  /** Where the lines end now; null where they end as they do. */
  climate: Climate | null;
  /** Null where nothing is expected. */
  ahead: HoursAhead | null;
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
  cured: { colour: "#ffb3a1", dash: [9, 4, 2, 4], width: 3 },
  expected: { colour: "#f3e9c9", dash: [3, 6, 11, 6], width: 2 },
} as const;
const grey = "#b3b3ab";
/** Of the band about the expected air: fainter than the one about measured air. */
const expectedFill = "#f3e9c91f";

type ChartData = [number[], ...ClimateLines["air"][]];

/** The chart, its line names and a text alternative; takes the width it is given. */
export function ClimateChart({ history, climate, ahead, scale, size, unit, clock, nowMs, lost }: Props) {
  const { words } = clock;
  const frame = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const widthPx = useWidth(frame);
  const liveSecond = Math.floor(nowMs / 10_000) * 10_000;
  const past = useMemo(() => pastLines(history, unit), [history, unit]);
  const lines = useMemo(
    () => climateLines(past, climate, ahead, unit, liveSecond),
    [past, climate, ahead, unit, liveSecond],
  );
  const room = roomOf(size);
  const mostTicks = room === "ample" ? 4 : 2;
  const range = useMemo(
    () => temperatureRange(drawnIn(room, lines), scale.fromMs / 1000, scale.toMs / 1000, mostTicks),
    [lines, room, scale.fromMs, scale.toMs, mostTicks],
  );
  const shown = useRef({ scale, range, clock });
  shown.current = { scale, range, clock };
  const { leftPx, rightPx, heightPx, fontPx } = size;

  useEffect(() => {
    const host = frame.current;
    if (host === null || !(widthPx > 0 && heightPx > 0)) return;
    const options = optionsFor({ leftPx, rightPx, heightPx, fontPx }, widthPx, lost, shown);
    const made = new uPlot(options, [[], [], [], [], [], [], [], [], [], [], []], host);
    plot.current = made;
    return () => {
      made.destroy();
      plot.current = null;
    };
  }, [widthPx, leftPx, rightPx, heightPx, fontPx, lost]);

  // A plot made anew needs its data anew.
  useEffect(() => {
    const { atSeconds, air, airLeast, airMost, panel, dewPoint, humidity, cured } = lines;
    const future = [lines.expectedCold, lines.expectedWarm, lines.expected];
    const data: ChartData = [atSeconds, humidity, airLeast, airMost, ...future, dewPoint, panel, air, cured];
    plot.current?.setData(data);
  }, [lines, range, scale.fromMs, scale.toMs, widthPx, leftPx, rightPx, heightPx, fontPx, lost]);

  return (
    <figure class="chart">
      <div class="chart-plot" ref={frame} role="img" aria-label={climateText(lines, unit, scale, clock)} />
      {room !== "none" && (
        <figcaption class="chart-names" aria-hidden="true">
          <LineName name={words.t("chart.air")} pen="air" />
          {lines.expected.some((value) => value !== null) && (
            <LineName name={words.t("chart.air-expected")} pen="expected" />
          )}
          {room === "ample" && (
            <>
              {lines.panel.some((value) => value !== null) && <LineName name={words.t("chart.panel")} pen="panel" />}
              <LineName name={words.t("chart.dew-point")} pen="dewPoint" />
              <LineName name={words.t("chart.humidity-percent")} pen="humidity" />
              {lines.cured.some((value) => value !== null) && (
                <LineName name={words.t("chart.cured-percent")} pen="cured" />
              )}
            </>
          )}
        </figcaption>
      )}
    </figure>
  );
}

/** What a chart's height is good for: all its lines, the air alone, or the clock times and nothing else. */
type Room = "ample" | "scant" | "none";

function roomOf({ heightPx, fontPx }: ChartSize): Room {
  if (heightPx > fontPx * 7) return "ample";
  return heightPx > fontPx * 3.4 ? "scant" : "none";
}

const drawnIn = (room: Room, lines: ClimateLines): ClimateLines =>
  room === "ample" ? lines : { ...lines, panel: [], dewPoint: [], humidity: [] };

function LineName({ name, pen }: { name: string; pen: keyof typeof pens }) {
  const { colour, dash, width } = pens[pen];
  return (
    <span class="chart-name">
      <svg viewBox="0 0 48 10" aria-hidden="true" focusable="false">
        {pen === "expected" && <path d="M0 -2 H48 V12 H0 Z" fill={expectedFill} />}
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
  const room = roomOf(size);
  const labelled = (values: number[]) => (room === "ample" ? values : [...values.slice(0, 1), ...values.slice(-1)]);
  const sideGap = (roomPx: number, characters: number) => size.fontPx * (roomPx > 0 ? 0.4 : -0.62 * characters);
  const grid = { stroke: "#3a4247", width: 1 };
  const line = (pen: keyof typeof pens, scale: string): uPlot.Series => ({
    scale,
    stroke: lost ? grey : pens[pen].colour,
    width: pens[pen].width * Math.max(0.6, size.fontPx / 26),
    dash: [...pens[pen].dash],
    points: { show: false },
    show: room === "ample" || (room === "scant" && (pen === "air" || pen === "expected")),
  });
  // Its band shows it. Even a transparent stroke would be drawn.
  const edge: uPlot.Series = { scale: "t", points: { show: false } };
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
    series: [
      {},
      line("humidity", "rh"),
      edge,
      edge,
      edge,
      edge,
      line("expected", "t"),
      line("dewPoint", "t"),
      line("panel", "t"),
      line("air", "t"),
      line("cured", "rh"),
    ],
    bands:
      room === "none"
        ? []
        : [
            { series: [3, 2], fill: lost ? "#b3b3ab33" : "#f3e9c933" },
            { series: [5, 4], fill: lost ? "#b3b3ab1f" : expectedFill },
          ],
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
        splits: () => (room === "none" ? [] : labelled(shown.current.range.ticks)),
        values: (_plot, splits) => splits.map((degrees) => `${shown.current.clock.words.number(degrees, 0)}°`),
      },
      {
        ...axis,
        scale: "rh",
        side: 1,
        gap: sideGap(size.rightPx, 4),
        size: size.rightPx,
        grid: { show: false },
        splits: () => (room === "ample" ? [0, 50, 100] : []),
        values: (_plot, splits) => splits.map((percent) => `${percent}%`),
      },
    ],
  };
}
