/** The time rail of a coat and, on the same axis, the air it had and how far it cured: drawn in black and white, told apart by dash and width. */
import { DateTime } from "luxon";
import type { Words } from "../../words/words.ts";
import { type CoatCertificate, wordsOfFile } from "./certificate-file.ts";
import { type ChartData, chartData, type Line } from "./chart-data.ts";
import { innerWidth, type Paper, page } from "./paper.ts";

/** How tall it is, legend and axis included. */
export const chartHeight = 222;

const labelsHeight = 22;
const plotTop = 64;
const plotHeight = 118;
const axisRoom = 30;
const small = { size: 6.5 } as const;

const looks = {
  airC: { width: 0.6 },
  panelC: { width: 1.5 },
  dewC: { width: 0.7, dash: [1, 1.6] },
  rhPercent: { width: 0.7, dash: [4, 2] },
  curePercent: { width: 1.5, dash: [5, 2] },
} satisfies Record<string, { width: number; dash?: number[] }>;

interface Drawing {
  paper: Paper;
  certificate: CoatCertificate;
  words: Words;
  data: ChartData;
  top: number;
  left: number;
  width: number;
  x: (atMs: number) => number;
}

export function drawChart(paper: Paper, certificate: CoatCertificate, top: number): void {
  const data = chartData(certificate);
  const left = page.margin + axisRoom;
  const width = innerWidth - 2 * axisRoom;
  const x = (atMs: number) => left + Math.min(1, Math.max(0, (atMs - data.fromMs) / (data.toMs - data.fromMs))) * width;
  const drawing = { paper, certificate, words: wordsOfFile(certificate), data, top, left, width, x };
  drawTimeAxis(drawing);
  drawRail(drawing);
  drawPlaces(drawing);
  drawPlot(drawing);
  drawLegend(drawing);
}

const stepsMinutes = [1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 7200, 14_400, 43_200];

function drawTimeAxis({ paper, words, data, certificate, top, x }: Drawing): void {
  const { fromMs, toMs } = data;
  const spanMinutes = (toMs - fromMs) / 60_000;
  const stepMs = (stepsMinutes.find((step) => spanMinutes / step <= 9) ?? spanMinutes) * 60_000;
  const offsetMs = DateTime.fromMillis(fromMs, { zone: certificate.shop.timeZone }).offset * 60_000;
  const bottom = top + plotTop + plotHeight;
  let beforeMs = fromMs;
  for (let atMs = Math.ceil((fromMs + offsetMs) / stepMs) * stepMs - offsetMs; atMs <= toMs; atMs += stepMs) {
    const at = x(atMs);
    paper.line(
      [
        [at, top + labelsHeight],
        [at, bottom],
      ],
      { width: 0.3, grey: "#cccccc" },
    );
    paper.text(at - 30, bottom + 3, words.when(atMs, beforeMs), { ...small, width: 60, align: "center" });
    beforeMs = atMs;
  }
}

function drawRail(drawing: Drawing): void {
  const { paper, certificate, data, top, left, width, x } = drawing;
  const rail = top + labelsHeight + 8;
  const until = x(Math.min(Date.parse(certificate.case.asOf), data.toMs));
  paper.line(
    [
      [left, rail],
      [until, rail],
    ],
    { width: 2.4 },
  );
  paper.line(
    [
      [until, rail],
      [left + width, rail],
    ],
    { width: 0.8, dash: [1, 2] },
  );
  paper.line(
    [
      [left, rail - 6],
      [left, rail + 6],
    ],
    { width: 1.2 },
  );
  drawStages(drawing, rail);
  drawWindows(drawing, rail);
  for (const { at, ready, withdrawn } of certificate.checks) {
    const atMs = Date.parse(at);
    if (withdrawn !== null || atMs > data.toMs || atMs < data.fromMs) continue;
    const middle = x(atMs);
    paper.shape(
      [
        [middle - 3, rail + 11],
        [middle + 3, rail + 11],
        [middle, rail + 5],
      ],
      { filled: ready },
    );
  }
}

/** A tick where it is likely, with a tail that narrows until it is safe; labels in two rows where they would meet. */
function drawStages({ paper, certificate, words, data, top, left, width, x }: Drawing, rail: number): void {
  const rows = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { stage, likelyAt, safeAt } of certificate.figures.stages) {
    if (likelyAt === null || Date.parse(likelyAt) > data.toMs) continue;
    const likely = x(Date.parse(likelyAt));
    if (safeAt !== null) {
      paper.shape(
        [
          [likely, rail - 6],
          [x(Date.parse(safeAt)), rail - 1],
          [likely, rail - 1],
        ],
        { grey: "#777777" },
      );
    }
    const label = words.t(`stage.${stage}`);
    const wide = paper.widthOf(label, small);
    const start = Math.min(likely - 2, left + width - wide);
    const row = rows.findIndex((end) => end <= start);
    const isLabelled = row >= 0;
    paper.line(
      [
        [likely, isLabelled ? top + 8 + row * 9 : rail - 8],
        [likely, rail + 3],
      ],
      { width: 0.8 },
    );
    if (!isLabelled) continue;
    rows[row] = start + wide + 5;
    paper.text(start + 4 > left + width - wide ? start : start + 4, top + row * 9 + 1, label, small);
  }
}

/** Gates: a bracket that opens and one that shuts. */
function drawWindows({ paper, certificate, data, x }: Drawing, rail: number): void {
  for (const { opensAt, closesAt } of certificate.windows) {
    for (const [at, turn] of [
      [opensAt, 1],
      [closesAt, -1],
    ] as const) {
      const atMs = at === null ? Number.NaN : Date.parse(at);
      if (!(atMs >= data.fromMs && atMs <= data.toMs)) continue;
      const gate = x(atMs);
      const corners: [number, number][] = [
        [gate + 3 * turn, rail - 5],
        [gate, rail - 5],
        [gate, rail + 5],
        [gate + 3 * turn, rail + 5],
      ];
      paper.line(corners, { width: 1 });
    }
  }
}

/** Where the car stood, and over it where no reading came. */
function drawPlaces({ paper, certificate, words, data, top, x }: Drawing): void {
  const y = top + labelsHeight + 22;
  const height = 11;
  const { moves, places, notes, outcome } = certificate;
  const asOf = x(Date.parse(outcome.asOf));
  for (const [index, { at, place }] of moves.entries()) {
    const next = moves[index + 1];
    const from = x(Date.parse(at));
    const to = Math.min(next === undefined ? asOf : x(Date.parse(next.at)), asOf);
    if (place === null || !(to - from > 1)) continue;
    paper.doc
      .rect(from, y, to - from, height)
      .lineWidth(0.5)
      .stroke("#000000");
    paper.text(from + 3, y + 2.5, places[place]?.name ?? place, { ...small, width: Math.max(0, to - from - 6) });
  }
  for (const { code, from, to } of notes) {
    if (code !== "gap" || from === null || to === null || Date.parse(from) > data.toMs) continue;
    const [start, end] = [x(Date.parse(from)), x(Date.parse(to))];
    paper.doc.rect(start, y, end - start, height).fill("#ffffff");
    paper.doc
      .rect(start, y, end - start, height)
      .lineWidth(0.5)
      .stroke("#000000");
    paper.doc
      .save()
      .rect(start, y, end - start, height)
      .clip();
    for (let stroke = start - height; stroke < end; stroke += 4) {
      paper.line(
        [
          [stroke, y + height],
          [stroke + height, y],
        ],
        { width: 0.4 },
      );
    }
    paper.doc.restore();
    const label = words.t("band.no-reading");
    const wide = paper.widthOf(label, small) + 6;
    if (wide > end - start) continue;
    paper.doc.rect((start + end - wide) / 2, y + 1, wide, height - 2).fill("#ffffff");
    paper.text(start, y + 2.5, label, { ...small, width: end - start, align: "center" });
  }
}

function drawPlot({ paper, words, data, top, left, width, x }: Drawing): void {
  const y0 = top + plotTop;
  paper.doc.rect(left, y0, width, plotHeight).lineWidth(0.5).stroke("#000000");
  const values = [data.airC, data.panelC, data.dewC].flatMap((line) => line.flat().map(({ value }) => value));
  if (values.length === 0) {
    paper.text(left, y0 + plotHeight / 2 - 4, words.t("certificate.no-readings"), { width, align: "center" });
    return;
  }
  const { lowC, highC, ticksC } = temperatureAxis(values, words);
  const yOfC = (celsius: number) => y0 + plotHeight * (1 - (celsius - lowC) / (highC - lowC));
  const yOfPercent = (percent: number) => y0 + plotHeight * (1 - percent / 100);
  for (const celsius of ticksC) {
    const y = yOfC(celsius);
    paper.line(
      [
        [left, y],
        [left + width, y],
      ],
      { width: 0.3, grey: "#cccccc" },
    );
    const label = words.temperature(celsius).replace(/\s.*$/, "");
    paper.text(left - axisRoom, y - 3, label, { ...small, width: axisRoom - 3, align: "right" });
  }
  paper.text(left - axisRoom, y0 - 9, words.temperatureUnit, { ...small, width: axisRoom - 3, align: "right" });
  for (const percent of [0, 25, 50, 75, 100]) {
    paper.text(left + width + 3, yOfPercent(percent) - 3, `${percent}`, small);
  }
  paper.text(left + width + 3, y0 - 9, "%", small);
  const draw = (line: Line, yOf: (value: number) => number, look: { width: number; dash?: number[] }) => {
    for (const part of line)
      paper.line(
        part.map(({ atMs, value }) => [x(atMs), yOf(value)] as const),
        look,
      );
  };
  draw(data.rhPercent, yOfPercent, looks.rhPercent);
  draw(data.curePercent, yOfPercent, looks.curePercent);
  draw(data.dewC, yOfC, looks.dewC);
  draw(data.airC, yOfC, looks.airC);
  draw(data.panelC, yOfC, looks.panelC);
}

/** Ends and ticks in the shop's unit, in whole steps, given back in °C. */
function temperatureAxis(values: readonly number[], words: Words) {
  const isF = words.temperatureUnit === "°F";
  const shown = (celsius: number) => (isF ? celsius * 1.8 + 32 : celsius);
  let [least, greatest] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const celsius of values) {
    least = Math.min(least, shown(celsius));
    greatest = Math.max(greatest, shown(celsius));
  }
  const step = [1, 2, 5, 10, 20, 50].find((each) => (greatest - least) / each <= 6) ?? 100;
  const low = Math.floor(least / step) * step;
  const high = Math.max(Math.ceil(greatest / step) * step, low + step);
  const ticks = Array.from({ length: Math.round((high - low) / step) + 1 }, (_, index) => low + index * step);
  return { lowC: words.celsius(low), highC: words.celsius(high), ticksC: ticks.map(words.celsius) };
}

function drawLegend({ paper, words, data, top }: Drawing): void {
  const y = top + plotTop + plotHeight + 15;
  const panel = data.isPanelEstimated ? "certificate.chart.panel-estimated" : "certificate.chart.panel";
  const lines = [
    [looks.airC, words.t("certificate.chart.air")],
    [looks.panelC, words.t(panel)],
    [looks.dewC, words.t("certificate.chart.dew-point")],
    [looks.rhPercent, words.t("certificate.chart.humidity")],
    [looks.curePercent, words.t("certificate.chart.cured")],
  ] as const;
  const each = innerWidth / lines.length;
  for (const [index, [look, name]] of lines.entries()) {
    const x = page.margin + index * each;
    paper.line(
      [
        [x, y + 4],
        [x + 18, y + 4],
      ],
      look,
    );
    paper.text(x + 22, y + 1, name, { ...small, width: each - 24 });
  }
  paper.text(page.margin, y + 11, words.t("certificate.chart.marks"), { ...small, width: innerWidth, grey: true });
}
