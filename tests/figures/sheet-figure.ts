/** A sheet's times over temperature, with what it prints and the rungs between. */
import type { Ladder } from "../../predictor/cure/ladder.ts";
import { kelvinAt0C, minutesAt } from "../../predictor/cure/time-curve.ts";
import { Chart, type Colour } from "./chart.ts";
import { evenly, inventedClear } from "./invented.ts";

const colours: readonly Colour[] = ["blue", "orange", "green", "grey"];
const shownC = { from: 2, to: 70 };

export function sheetFigure(): string {
  const ladder = inventedClear();
  const stages = ladder.stages.filter(({ stage }) => stage !== "full-cure");
  const { from, to } = ladder.coversC;
  const chart = new Chart({
    title: "Minutes to each stage over the panel's temperature, invented clear coat",
    description: `Lines go through the times that the sheet prints at ${ladder.anchorsC.join(", ")} °C. They are whole where the sheet covers them, ${from} to ${to} °C, and dashed beyond.`,
    x: {
      label: "panel, °C (spread by 1/T)",
      ...shownC,
      ticks: evenly(10, 70, 6).map((at) => ({ at, text: String(at) })),
      scale: (tempC) => -1 / (tempC + kelvinAt0C),
    },
    y: {
      label: "minutes after the finish",
      from: 1,
      to: 300,
      ticks: [1, 3, 10, 30, 100, 300].map((at) => ({ at, text: String(at) })),
      scale: Math.log,
    },
  });
  for (const [k, { stage }] of stages.entries()) {
    const colour = colours[k] ?? "grey";
    const along = (fromC: number, toC: number) =>
      evenly(fromC, toC, 60).map((tempC) => [tempC, minutesTo(ladder, k, tempC)] as const);
    chart.line(along(shownC.from, from), colour, { dashed: true });
    chart.line(along(from, to), colour);
    chart.line(along(to, shownC.to), colour, { dashed: true });
    for (const tempC of ladder.anchorsC) chart.dot([tempC, minutesTo(ladder, k, tempC)], colour);
    const below = k === 0 ? 1 : minutesTo(ladder, k - 1, rungsAtC);
    const top = minutesTo(ladder, k, rungsAtC);
    chart.line(
      [
        [rungsAtC, below],
        [rungsAtC, top],
      ],
      colour,
      { width: 5 },
    );
    chart.text([rungsAtC, Math.sqrt(below * top)], `rung ${k + 1}`, { dx: 8, dy: 4 });
    chart.text([shownC.to, minutesTo(ladder, k, shownC.to)], stage, { dx: 6, dy: 4 });
  }
  return chart.toString();
}

const rungsAtC = 33;

/** What the model gives for stage k at a constant temperature: its rungs together. */
function minutesTo({ rungs }: Ladder, k: number, tempC: number): number {
  return rungs.slice(0, k + 1).reduce((sum, { curve }) => sum + minutesAt(curve, tempC), 0);
}
