/** Temperature histories as stretches, for the tests of the kinetics. */

import { Conditions, Stretch } from "../stretch.ts";
import { KineticLaw } from "./kinetic-law.ts";
import { KineticRun } from "./kinetic-run.ts";
import type { Kinetics } from "./kinetics.ts";
import { RateSpan, SpanCutter } from "./rate-span.ts";

/** Minutes long, from one temperature evenly to another, or relaxing towards `pullC` with a time constant. */
export type Part =
  | { minutes: number; fromC: number; toC: number }
  | { minutes: number; fromC: number; pullC: number; lagMinutes: number };

export function conditions(minutes: number, panelC: number, airC = panelC): Conditions {
  return Object.assign(new Conditions(), { minutes, panelC, airC, rhPercent: 50, airSpeedMps: 0.2, sensorC: panelC });
}

export function stretchOf(startMinutes: number, part: Part): Stretch {
  const end = startMinutes + part.minutes;
  if ("toC" in part) {
    const even = new Stretch().between(conditions(startMinutes, part.fromC), conditions(end, part.toC));
    even.panelRuns();
    return even;
  }
  const from = conditions(startMinutes, part.fromC, part.pullC);
  const relaxing = new Stretch().between(from, conditions(end, part.pullC));
  relaxing.panelRelaxes(part.lagMinutes, false);
  return relaxing;
}

/** Conversion that kinetics come to along the parts of a history, and when they pass `target`; NaN where they do not. */
export function react(kinetics: Kinetics, parts: readonly Part[], target = 1 - 1e-12) {
  const law = new KineticLaw(kinetics);
  const run = new KineticRun(law, [law.extentAt(target)], 1);
  const cutter = new SpanCutter(law.steepestPerK);
  const span = new RateSpan();
  let minutes = 0;
  for (const part of parts) {
    cutter.cut(stretchOf(minutes, part), (nodes) => {
      span.startMinutes = nodes.startMinutes;
      span.lengthMinutes = nodes.lengthMinutes;
      span.fill(law, nodes.startC, nodes.middleC, nodes.endC);
      run.along(span);
    });
    minutes += part.minutes;
  }
  return { conversion: law.conversionAt(run.extent), minutes: run.endedAt[0] as number };
}
