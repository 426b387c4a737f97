/** Warnings and notices in the words of the API. */
import type { Words } from "../../words/words.ts";
import type { NoticeData } from "../warnings/notices.ts";
import type { Warning as WarningNow, Warnings } from "../warnings/warnings.ts";
import type { EndedWarning, Notice, Warning } from "./api.ts";

const iso = (ms: number): string => new Date(ms).toISOString();

export function warningView(warning: WarningNow, words: Words): Warning {
  const { text, consequence, action, alsoAt, untilMs, sinceMs, answer, setAside, ...rest } = warning;
  return {
    ...rest,
    alsoAt: [...alsoAt],
    text: words.say(text),
    consequence: words.say(consequence),
    action: words.say(action),
    until: untilMs === null ? null : iso(untilMs),
    since: iso(sinceMs),
    ...answersView({ answer, setAside }),
  };
}

type Ended = ReturnType<Warnings["ended"]>[number];

export function endedView(
  { text, raisedAtMs, endedAtMs, answer, setAside, ...rest }: Ended,
  words: Words,
): EndedWarning {
  return {
    id: rest.id,
    rule: rest.rule,
    place: rest.place,
    coatId: rest.coatId,
    carId: rest.carId,
    text: words.say(text),
    since: iso(raisedAtMs),
    endedAt: iso(endedAtMs ?? raisedAtMs),
    ...answersView({ answer, setAside }),
  };
}

function answersView({ answer, setAside }: Pick<WarningNow, "answer" | "setAside">) {
  return {
    answer: answer && { who: answer.who, at: iso(answer.atMs), done: answer.done },
    setAside: setAside && {
      who: setAside.who,
      at: iso(setAside.atMs),
      until: iso(setAside.untilMs),
      reason: setAside.reason,
    },
  };
}

export function noticeView({ atMs, text, action, ...rest }: NoticeData, words: Words): Notice {
  return { ...rest, at: iso(atMs), text: words.say(text), action: words.say(action) };
}
