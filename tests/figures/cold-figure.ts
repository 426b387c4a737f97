/** One coat through a cold afternoon: the panel, how far it is, and its likely and safe times. */
import type { ClimateReading } from "../../predictor/cure/climb.ts";
import { CoatClimb } from "../../predictor/cure/coat-climb.ts";
import { coldEnergyKJ } from "../../predictor/follow/coat-setup.ts";
import { Chart } from "./chart.ts";
import { evenly, hourMs, inventedClear, minuteMs } from "./invented.ts";

const finishedAtMs = Date.UTC(2026, 1, 4, 13);
const untilMs = finishedAtMs + 5 * hourMs;

export function coldFigure(): string {
  const ladder = inventedClear();
  const climb = new CoatClimb({ ladder, finishedAtMs, substrate: "steel", coldEnergyKJ });
  const readings = evenly(finishedAtMs, untilMs, 60).map(readingAt);
  for (const reading of readings) climb.append(reading);
  const { stages } = climb.outcome(untilMs);
  const chart = new Chart({
    title: "An invented clear coat through an invented cold afternoon",
    description:
      "The panel cools from 18 to 8 °C. The percentage rises ever more slowly. Each stage has a filled mark at its likely time and a tail to a hollow mark at its safe time; tails are long where the panel was below what the sheet covers.",
    x: {
      label: "clock",
      from: finishedAtMs,
      to: untilMs,
      ticks: evenly(finishedAtMs, untilMs, 5).map((at) => ({ at, text: new Date(at).toISOString().slice(11, 16) })),
    },
    y: { label: "percentage cure", from: 0, to: 80, ticks: evenly(0, 80, 4).map((at) => ({ at, text: `${at} %` })) },
    right: { label: "panel", from: 0, to: 40, ticks: evenly(0, 20, 2).map((at) => ({ at, text: `${at} °C` })) },
  });
  chart.line(
    readings.map(({ atMs, panelC }) => [atMs, panelC ?? Number.NaN]),
    "grey",
    { right: true, dashed: true },
  );
  const coldAtMs = readings.find(({ panelC }) => (panelC ?? Number.NaN) < ladder.coversC.from)?.atMs ?? untilMs;
  const panelAtEndC = readings.at(-1)?.panelC ?? Number.NaN;
  chart.dot([coldAtMs, ladder.coversC.from], "grey", { right: true });
  const words = `panel (right scale); below ${ladder.coversC.from} °C the sheet does not cover it`;
  chart.text([untilMs, panelAtEndC], words, { anchor: "end", dx: -4, dy: -26, right: true });
  chart.line(
    evenly(finishedAtMs, untilMs, 100).map((atMs) => [atMs, climb.outcome(atMs).curePercent ?? Number.NaN]),
    "blue",
  );
  for (const { stage, curePercent, likelyAtMs, safeAtMs } of stages) {
    if (likelyAtMs === null || safeAtMs === null || safeAtMs > untilMs) continue;
    chart.line(
      [
        [likelyAtMs, curePercent],
        [safeAtMs, curePercent],
      ],
      "orange",
    );
    chart.dot([likelyAtMs, curePercent], "orange");
    chart.dot([safeAtMs, curePercent], "orange", { hollow: true });
    chart.text([safeAtMs, curePercent], `${stage}: +${minutes(likelyAtMs)}, +${minutes(safeAtMs)} min`, {
      dx: 8,
      dy: 17,
    });
  }
  return chart.toString();
}

function readingAt(atMs: number): ClimateReading {
  const airC = 7 + 11 * Math.exp(-(atMs - finishedAtMs) / (2 * hourMs));
  return { atMs, airC, rhPercent: 60, panelC: airC };
}

function minutes(atMs: number): number {
  return Math.round((atMs - finishedAtMs) / minuteMs);
}
