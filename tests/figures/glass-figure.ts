/** A coat with kinetics at a few temperatures: where it stops until it is warmer. */
import { CoatClimb } from "../../predictor/cure/coat-climb.ts";
import { Chart, type Colour } from "./chart.ts";
import { evenly, hourMs, inventedGlass } from "./invented.ts";

const panels: readonly { panelC: number; colour: Colour; labelDy: number }[] = [
  { panelC: 5, colour: "blue", labelDy: 34 },
  { panelC: 20, colour: "green", labelDy: -14 },
  { panelC: 60, colour: "orange", labelDy: 18 },
];
const hours = { from: 0.1, to: 1000 };

export function glassFigure(): string {
  const ladder = inventedGlass();
  const chart = new Chart({
    title: "Percentage cure of an invented coat with kinetics, its panel held at 5, 20 and 60 °C",
    description:
      "The warmer, the sooner and the further. In the cold the film turns to glass and stops short of full cure.",
    x: {
      label: "hours after the finish",
      ...hours,
      ticks: [0.1, 1, 10, 100, 1000].map((at) => ({ at, text: String(at) })),
      scale: Math.log,
    },
    y: { label: "percentage cure", from: 0, to: 104, ticks: evenly(0, 100, 5).map((at) => ({ at, text: `${at} %` })) },
  });
  for (const { panelC, colour, labelDy } of panels) {
    const climb = new CoatClimb({ ladder, finishedAtMs: 0, substrate: "steel" });
    climb.append({ atMs: 0, airC: panelC, rhPercent: 50, panelC });
    const percentAt = (hour: number) => climb.outcome(hour * hourMs).curePercent ?? Number.NaN;
    const course = evenly(Math.log(hours.from), Math.log(hours.to), 90).map(Math.exp);
    chart.line(
      course.map((hour) => [hour, percentAt(hour)]),
      colour,
    );
    const stalls = climb.outcome(0).notes.find(({ code }) => code === "stalled");
    const words = stalls === undefined ? `${panelC} °C` : `${panelC} °C: ${stalls.text}`;
    chart.text([hours.to, percentAt(hours.to)], words, { anchor: "end", dx: -4, dy: labelDy });
  }
  return chart.toString();
}
