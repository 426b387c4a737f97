/** Publishes the log's head for another machine to keep: with it, a log cut short or written anew is found. */
import type { Head } from "./log.ts";

export interface WitnessParts {
  records: { head(): Head | null };
  /** Publishes a retained message. */
  retain: (topic: string, message: object) => void;
  topic: string;
  now: () => number;
}

const dayMs = 24 * 60 * 60_000;

/** Publishes at once and then at each midnight UTC, `{ seq, hash, at }`; nothing while the log is empty. The function returned stops it. */
export function startWitness({ records, retain, topic, now }: WitnessParts): () => void {
  let timer: NodeJS.Timeout;
  const publish = () => {
    const head = records.head();
    if (head !== null) {
      retain(topic, { seq: head.seq, hash: head.hash, at: new Date(head.atMs).toISOString() });
    }
    timer = setTimeout(publish, dayMs - (now() % dayMs));
  };
  publish();
  return () => clearTimeout(timer);
}
