/** The answer to a what-if, in the words of the API. */
import type { Words } from "../../words/words.ts";
import type { WhatIfAnswer } from "../follow/what-ifs.ts";
import type { EnergySettings } from "../plan/energy.ts";
import type { StageTimes } from "../plan/what-if.ts";
import { readyCaution } from "./coat-view.ts";
import type { WhatIfView } from "./entries.ts";

const isoOrNull = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());
const timesView = ({ likelyAtMs, safeAtMs }: StageTimes) => ({
  likelyAt: isoOrNull(likelyAtMs),
  safeAt: isoOrNull(safeAtMs),
});

export function whatIfView(answer: WhatIfAnswer, settings: EnergySettings | undefined, words: Words): WhatIfView {
  const { asOfMs, planEndsAtMs, coats, states, nextCoat, energy } = answer;
  return {
    asOf: new Date(asOfMs).toISOString(),
    planEndsAt: new Date(planEndsAtMs).toISOString(),
    coats: coats.map((change) => {
      const state = states.find(({ coat }) => coat.id === change.id);
      return {
        id: change.id,
        sheet: state?.sheet.name ?? "",
        panels: state?.coat.panels ?? [],
        nextStage: change.nextStage,
        stages: change.stages.map(({ stage, asThingsStand, plan, safeEarlierMinutes }) => ({
          stage,
          asThingsStand: timesView(asThingsStand),
          plan: timesView(plan),
          safeEarlierMinutes,
        })),
        percentAtPlanEnd: change.percentAtPlanEnd,
        windowsMissed: change.windowsMissed.map((window) => ({ for: window.for, ifMissed: window.ifMissed })),
        notes: change.notes.map(({ code, text }) => ({ code, text: words.say(text) })),
      };
    }),
    nextCoat:
      nextCoat === null
        ? null
        : {
            onto: nextCoat.onto,
            state: nextCoat.state,
            for: nextCoat.for,
            mustBeDone: nextCoat.mustBeDone,
            stages: nextCoat.stages.map((stage) => ({ stage: stage.stage, ...timesView(stage) })),
          },
    energy:
      energy === null || settings === undefined
        ? null
        : { currency: settings.currency, ...energy, sources: sourcesOf(settings) },
    caution: words.say(readyCaution),
  };
}

function sourcesOf({ heat, electricity }: EnergySettings): string[] {
  return [`heat: ${heat.source}, ${heat.year}`, `electricity: ${electricity.source}, ${electricity.year}`];
}
