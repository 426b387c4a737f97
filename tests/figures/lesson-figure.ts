/** How a shop's checks narrow what a sheet promises. */
import { type CheckFinding, type Lesson, learn } from "../../predictor/cure/learning.ts";
import { ninetiethPercentile } from "../../predictor/cure/uncertainty.ts";
import { Chart } from "./chart.ts";
import { evenly, normals, seeded } from "./invented.ts";

const trueFactor = 0.8;
/** How far a person's 'ready' scatters, as the model takes it to, and how far from the likely time one checks. */
const personSigma = 0.12;
const earlyOrLateSigma = 0.15;
const checks = 20;

export function lessonFigure(): string {
  const normal = normals(seeded(7));
  const findings: CheckFinding[] = [];
  const lessons = [learn(findings)];
  while (findings.length < checks) {
    const lnFactor = (lessons.at(-1) as Lesson).lnFactor + earlyOrLateSigma * normal();
    findings.push({ lnFactor, ready: Math.log(trueFactor) + personSigma * normal() > lnFactor });
    lessons.push(learn(findings));
  }
  const timeAt = (lesson: Lesson, deviations: number) => 100 * Math.exp(-lesson.lnFactor + deviations * lesson.sigma);
  const chart = new Chart({
    title: "What 20 invented checks teach, in a shop where everything takes 125 % of the sheet's time",
    description:
      "The likely time starts at the sheet's own, 100 %, and comes close to 125 %. The band, in which the truth lies four times in five, narrows with each check.",
    x: { label: "checks", from: 0, to: checks, ticks: evenly(0, checks, 4).map((at) => ({ at, text: String(at) })) },
    y: {
      label: "share of the sheet's time",
      from: 70,
      to: 170,
      ticks: evenly(80, 160, 4).map((at) => ({ at, text: `${at} %` })),
    },
  });
  const along = (deviations: number) => lessons.map((lesson, n) => [n, timeAt(lesson, deviations)] as const);
  chart.band(along(-ninetiethPercentile), along(ninetiethPercentile), "blue");
  chart.line(
    [
      [0, 100 / trueFactor],
      [checks, 100 / trueFactor],
    ],
    "orange",
    { dashed: true },
  );
  chart.text([checks, 100 / trueFactor], "this shop's truth", { anchor: "end", dy: -24 });
  chart.line(along(0), "blue");
  for (const [n, { ready }] of findings.entries()) {
    chart.dot([n + 1, timeAt(lessons[n + 1] as Lesson, 0)], "blue", { hollow: !ready });
  }
  chart.text([checks, 72], "filled: found ready · hollow: not yet · line: likely · band: four in five", {
    anchor: "end",
  });
  return chart.toString();
}
