/** Who may say and hear what at the embedded broker. docs/broker.md says the same in prose. */
import { topicsOf } from "../../collector/readings.ts";

/** The user name under which the program itself signs in at its own broker; no collector may have it. */
export const programName = "coatclock";

/** As whom a connection came in. `local`: on this machine, with a broker that asks nobody. */
export type Party =
  | { kind: "program" }
  | { kind: "local" }
  | { kind: "collector"; name: string }
  | { kind: "anonymous" };

export interface Rights {
  mayPublish(topic: string): boolean;
  maySubscribe(filter: string): boolean;
}

/**
 * A collector writes its readings and its state and hears its receipts; anyone may hear what lamps and wall displays
 * need. The program, and whoever is on this machine where nobody is asked, may do all but publish what is the broker's own.
 */
export function rightsOf(party: Party, shop: string): Rights {
  if (party.kind === "program" || party.kind === "local") {
    return { mayPublish: (topic) => !topic.startsWith("$"), maySubscribe: () => true };
  }
  const topics = topicsOf(shop);
  const base = topics.time.slice(0, topics.time.lastIndexOf("/"));
  const published = new Set<string>();
  const heard = [topics.time, `${base}/collectors/#`, `${base}/readiness/#`, `${base}/warnings/#`];
  if (party.kind === "collector") {
    published.add(topics.readings(party.name)).add(topics.collectors(party.name));
    heard.push(topics.receipts(party.name));
  }
  return {
    mayPublish: (topic) => published.has(topic),
    maySubscribe: (filter) => heard.some((allowed) => isWithin(filter, allowed)),
  };
}

/** Whether every topic that `filter` matches is matched by `allowed` too (wildcards: MQTT 3.1.1 §4.7.1). */
export function isWithin(filter: string, allowed: string): boolean {
  const asked = filter.split("/");
  const levels = allowed.split("/");
  for (const [index, level] of levels.entries()) {
    if (level === "#") return true;
    const wanted = asked[index];
    if (wanted === undefined || wanted === "#") return false;
    if (level !== "+" && wanted !== level) return false;
  }
  return asked.length === levels.length;
}
