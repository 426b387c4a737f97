import { type Text, type TextKey, text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";

const english = wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });

/**
 * Something that can't be recorded as asked; `text` names it and the remedy, and the message says it in English, times in
 * UTC. `kind` tells not found from not fitting.
 */
export class RecordFault extends Error {
  readonly kind: "not-found" | "conflict";
  readonly text: Text;

  constructor(kind: "not-found" | "conflict", text: Text) {
    super(english.say(text));
    this.name = "RecordFault";
    this.kind = kind;
    this.text = text;
  }
}

/** For a `throw`: there is no such thing. */
export function notFound(key: TextKey, values?: Text["values"]): RecordFault {
  return new RecordFault("not-found", text(key, values));
}

/** For a `throw`: it does not fit what is recorded. */
export function conflict(key: TextKey, values?: Text["values"]): RecordFault {
  return new RecordFault("conflict", text(key, values));
}
