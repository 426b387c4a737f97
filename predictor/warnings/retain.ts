/** Keeps readiness and warnings retained at the broker, for lamps, bells and other programs. docs/mqtt.md describes the topics. */
import type { topicsOf } from "../../collector/readings.ts";
import type { Words } from "../../words/words.ts";
import type { CoatState } from "../follow/coat-state.ts";
import type { Follow } from "../follow/follow.ts";
import type { ShopFile } from "../shop-file.ts";
import { rules } from "./condition.ts";
import type { Warning, Warnings } from "./warnings.ts";

export interface RetainParts {
  shopFile: Pick<ShopFile, "places">;
  follow: Pick<Follow, "coatsAt">;
  warnings: Pick<Warnings, "at" | "onChange">;
  /** Where retained messages go; null removes one. */
  link: { retain(topic: string, message: object | null): void };
  topics: ReturnType<typeof topicsOf>;
  /** The shop's own words. */
  words: Words;
}

const readinessEveryMs = 10_000;

/** Starts it; the function returned stops it. What is retained stays, since it stays true until someone says otherwise. */
export function startRetaining({ shopFile, follow, warnings, link, topics, words }: RetainParts): () => void {
  const places = Object.keys(shopFile.places);
  const told = new Set<string>();

  const tellWarnings = (place: string) => {
    // What is answered or set aside wants no lamp.
    const open = warnings.at(place).filter(({ state }) => state === "open");
    const mostUrgent = new Map(open.toReversed().map((warning) => [warning.rule, warning]));
    for (const rule of rules) {
      const warning = mostUrgent.get(rule);
      const topic = topics.warnings(place, rule);
      if (warning !== undefined) {
        link.retain(topic, message(warning, place, words));
        told.add(topic);
      } else if (told.delete(topic)) {
        link.retain(topic, null);
      }
    }
  };
  const readinessTopics = new Set<string>();
  const tellReadiness = () => {
    const gone = new Set(readinessTopics);
    for (const state of places.flatMap((place) => follow.coatsAt(place))) {
      const topic = topics.readiness(topicSafe(state.car.job), state.coat.id);
      gone.delete(topic);
      // While its history is being read nothing is known of it: what was said stands.
      if (state.isPending) continue;
      link.retain(topic, readiness(state));
      readinessTopics.add(topic);
    }
    for (const topic of gone) {
      link.retain(topic, null);
      readinessTopics.delete(topic);
    }
  };

  for (const place of places) tellWarnings(place);
  tellReadiness();
  const stopListening = warnings.onChange(tellWarnings);
  const timer = setInterval(tellReadiness, readinessEveryMs);
  return () => {
    stopListening();
    clearInterval(timer);
  };
}

/** In the topic of a place, that place: a lamp asks for no other. */
function message(warning: Warning, place: string, words: Words): object {
  const { id, rule, urgency, text, consequence, action, untilMs, sinceMs, coatId, carId } = warning;
  return {
    id,
    rule,
    place,
    alsoAt: [warning.place, ...warning.alsoAt].filter((each) => each !== place),
    urgency,
    text: words.say(text),
    consequence: words.say(consequence),
    action: words.say(action),
    until: untilMs === null ? null : new Date(untilMs).toISOString(),
    since: new Date(sinceMs).toISOString(),
    coatId,
    carId,
  };
}

/** A job number as one level of a topic: no wildcards, no further levels. */
function topicSafe(job: string): string {
  return job.replaceAll(/[/+#\s]/g, "-");
}

function readiness({ car, coat, place, outcome }: CoatState): object {
  const isoOrNull = (ms: number | null) => (ms === null ? null : new Date(ms).toISOString());
  const nextStage = outcome.stages.find((stage) => stage.safeAtMs === null || stage.safeAtMs > outcome.asOfMs);
  const ready = outcome.stages.findLast((stage) => stage.safeAtMs !== null && stage.safeAtMs <= outcome.asOfMs);
  return {
    car: car.name,
    place,
    panels: coat.panels,
    curePercent: outcome.curePercent === null ? null : Math.round(outcome.curePercent),
    readyFor: ready?.stage ?? null,
    next:
      nextStage === undefined
        ? null
        : { stage: nextStage.stage, likelyAt: isoOrNull(nextStage.likelyAtMs), safeAt: isoOrNull(nextStage.safeAtMs) },
  };
}
