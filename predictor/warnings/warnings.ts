/** The warnings of the shop: raised, answered, set aside, over; each a record, and each told to people once. */
import type { Logger } from "pino";
import type { Text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { type By, conflict, notFound, program, type RecordedWarning, type WarningEvent } from "../records/records.ts";
import type { Condition, Rule, Urgency } from "./condition.ts";
import { familyOf, occurrenceId, stepWarnings, type Tracked } from "./life.ts";
import { type NoticeData, NoticeLimit } from "./notices.ts";
import { Readiness } from "./readiness.ts";
import { conditionsOf } from "./rules.ts";
import { type SituationParts, situationOf } from "./situation.ts";
import { Slips } from "./slips.ts";

export interface Warning {
  id: string;
  rule: Rule;
  place: string;
  urgency: Urgency;
  text: Text;
  consequence: Text;
  action: Text;
  untilMs: number | null;
  sinceMs: number;
  coatId: string | null;
  carId: string | null;
  state: "open" | "answered" | "set aside";
  answer: RecordedWarning["answer"];
  setAside: RecordedWarning["setAside"];
}

export interface WarningParts extends Omit<SituationParts, "slips"> {
  now: () => number;
  /** The shop's own, for what the records keep as said. */
  words: Words;
  logger: Logger;
}

/** What is known of a warning beside its condition. */
interface Occurrence {
  id: string;
  sinceMs: number;
  answer: Warning["answer"];
  setAside: Warning["setAside"];
  /** Told to people since it was raised, or since it was set aside. */
  isTold: boolean;
}

const checkEveryMs = 2_000;
/** What was open before a restart and does not show by then is over. */
const restartGraceMs = 5 * 60_000;
const dayMs = 24 * 60 * 60_000;
const urgencyOrder: Record<Urgency, number> = { now: 0, soon: 1, today: 2 };

export class Warnings {
  readonly #parts: WarningParts;
  readonly #situation: SituationParts;
  readonly #slips = new Slips();
  readonly #readiness = new Readiness();
  readonly #limit = new NoticeLimit();
  readonly #tracked = new Map<string, Map<string, Tracked>>();
  /** By place and key. */
  readonly #occurrences = new Map<string, Map<string, Occurrence>>();
  /** Open in the records since before the start, by family. */
  readonly #before: Map<string, RecordedWarning>;
  readonly #listeners = new Set<(place: string) => void>();
  readonly #noticeListeners = new Set<(notice: NoticeData) => void>();
  #beforeUntilMs: number;
  #timer: NodeJS.Timeout | null = null;

  constructor(parts: WarningParts) {
    this.#parts = parts;
    this.#situation = { ...parts, slips: this.#slips };
    const open = parts.records.warningsOpen();
    this.#before = new Map(open.map((warning) => [warning.id.split("-")[0] ?? "", warning]));
    this.#beforeUntilMs = parts.now() + restartGraceMs;
  }

  start(): void {
    this.#timer = setInterval(() => this.check(), checkEveryMs);
    this.check();
  }

  stop(): void {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
  }

  /** Calls back with a place whose warnings have changed; the function returned ends it. */
  onChange(listener: (place: string) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Calls back with what is to reach a person now; the function returned ends it. */
  onNotice(listener: (notice: NoticeData) => void): () => void {
    this.#noticeListeners.add(listener);
    return () => this.#noticeListeners.delete(listener);
  }

  /**
   * The warnings of a place, and those of the whole machine, answered and set aside ones too: open ones first, then the
   * most urgent, then the newest.
   */
  at(place: string): Warning[] {
    const [first] = this.#places();
    const ofMachine = first === undefined || first === place ? [] : this.#of(first).filter(isOfMachine);
    return sorted([...this.#of(place), ...ofMachine]);
  }

  /** Those of all places, each once. */
  all(): Warning[] {
    return sorted(this.#places().flatMap((place) => this.#of(place)));
  }

  #places(): string[] {
    return Object.keys(this.#parts.shopFile.places);
  }

  #of(place: string): Warning[] {
    const nowMs = this.#parts.now();
    return [...(this.#tracked.get(place) ?? [])].flatMap(([key, { condition }]) => {
      const occurrence = this.#occurrences.get(place)?.get(key);
      return occurrence === undefined ? [] : [warningOf(place, condition, occurrence, nowMs)];
    });
  }

  /** Those that ended in the last day, the newest first. */
  ended(): RecordedWarning[] {
    return this.#parts.records.warningsEnded(this.#parts.now() - dayMs).reverse();
  }

  /** What was done about it; from then on it is not said again for this fact. Throws RecordFault where it is over. */
  answer(id: string, done: string, by: By): void {
    const { place, occurrence, condition } = this.#find(id);
    this.#parts.records.addWarningEvent({ event: "answered", id, done }, by);
    occurrence.answer = { who: by.who, atMs: this.#parts.now(), done };
    this.#limit.drop(id);
    if (condition.rule === "slipped" && condition.coatId !== null) this.#slips.known(condition.coatId);
    this.#tellOf(place);
  }

  /** Leaves it for so many minutes; then it is said anew, if it still holds. Throws RecordFault where it is over. */
  setAside(id: string, minutes: number, reason: string, by: By): void {
    const { place, occurrence } = this.#find(id);
    if (occurrence.answer !== null) throw conflict("warning.answered");
    const nowMs = this.#parts.now();
    const untilMs = nowMs + minutes * 60_000;
    this.#parts.records.addWarningEvent({ event: "set aside", id, untilMs, reason }, by);
    occurrence.setAside = { who: by.who, atMs: nowMs, untilMs, reason };
    occurrence.isTold = false;
    this.#limit.drop(id);
    this.#tellOf(place);
  }

  /** Looks at every place now; called by the timer. */
  check(): void {
    const nowMs = this.#parts.now();
    const coatIds = new Set<string>();
    for (const place of this.#places()) {
      const situation = situationOf(this.#situation, place, nowMs);
      for (const coat of situation.coats) {
        coatIds.add(coat.id);
        for (const notice of this.#readiness.of(coat, nowMs)) this.#offer(notice);
      }
      const tracked = mapIn(this.#tracked, place);
      const conditions = conditionsOf(situation, (key) => tracked.get(key)?.activeSinceMs != null);
      const isKnown = (key: string) => this.#before.has(familyOf(place, key));
      const { begun, ended, isChanged } = stepWarnings(tracked, conditions, nowMs, isKnown);
      for (const key of ended) this.#end(place, key);
      for (const key of begun) this.#begin(place, key, tracked.get(key), nowMs);
      const isOpenAgain = this.#tell(place, nowMs);
      if (begun.length + ended.length > 0 || isChanged || isOpenAgain) this.#tellOf(place);
    }
    this.#slips.keepOnly(coatIds);
    this.#readiness.keepOnly(coatIds);
    this.#endWhatIsLeft(nowMs);
    const gathered = this.#limit.due(nowMs);
    if (gathered !== null) this.#send(gathered);
  }

  #begin(place: string, key: string, tracked: Tracked | undefined, nowMs: number): void {
    if (tracked === undefined) return;
    const before = this.#before.get(familyOf(place, key));
    if (before !== undefined) {
      this.#before.delete(familyOf(place, key));
      const { id, raisedAtMs: sinceMs, answer, setAside } = before;
      mapIn(this.#occurrences, place).set(key, { id, sinceMs, answer, setAside, isTold: true });
      return;
    }
    const { rule, urgency, coatId, carId, text } = tracked.condition;
    const id = occurrenceId(place, key, nowMs);
    const said = this.#parts.words.say(text);
    this.#record({ event: "raised", id, rule, place, coatId, carId, urgency, text, said });
    mapIn(this.#occurrences, place).set(key, { id, sinceMs: nowMs, answer: null, setAside: null, isTold: false });
  }

  #end(place: string, key: string): void {
    const occurrence = this.#occurrences.get(place)?.get(key);
    if (occurrence === undefined) return;
    this.#occurrences.get(place)?.delete(key);
    this.#limit.drop(occurrence.id);
    this.#record({ event: "ended", id: occurrence.id });
  }

  /** Tells people of what is open and untold; true when something is open again after it was set aside. */
  #tell(place: string, nowMs: number): boolean {
    let isOpenAgain = false;
    for (const warning of this.#of(place)) {
      const occurrence = [...(this.#occurrences.get(place)?.values() ?? [])].find(({ id }) => id === warning.id);
      if (warning.state !== "open" || occurrence === undefined || occurrence.isTold) continue;
      isOpenAgain ||= occurrence.setAside !== null;
      occurrence.isTold = true;
      const { id, urgency, text, action, coatId, carId } = warning;
      const time = (occurrence.setAside?.untilMs ?? occurrence.sinceMs).toString(36);
      const about = { warningId: id, coatId, carId, count: 1 };
      this.#offer({ id: `${id}-${time}`, atMs: nowMs, kind: "warning", urgency, text, action, ...about });
    }
    return isOpenAgain;
  }

  #endWhatIsLeft(nowMs: number): void {
    if (nowMs < this.#beforeUntilMs) return;
    this.#beforeUntilMs = Number.POSITIVE_INFINITY;
    for (const { id } of this.#before.values()) this.#record({ event: "ended", id });
    this.#before.clear();
  }

  #find(id: string): { place: string; occurrence: Occurrence; condition: Condition } {
    for (const [place, occurrences] of this.#occurrences) {
      for (const [key, occurrence] of occurrences) {
        const condition = this.#tracked.get(place)?.get(key)?.condition;
        if (occurrence.id === id && condition !== undefined) return { place, occurrence, condition };
      }
    }
    throw notFound("warning.unknown");
  }

  /** A full disk must not keep a warning from being shown: the record of it is then missing, and the log says so. */
  #record(event: WarningEvent): void {
    try {
      this.#parts.records.addWarningEvent(event, program);
    } catch (error) {
      this.#parts.logger.error({ err: error, event }, "what happened to a warning could not be recorded");
    }
  }

  #offer(notice: NoticeData): void {
    const now = this.#limit.offer(notice);
    if (now !== null) this.#send(now);
  }

  #send(notice: NoticeData): void {
    for (const listener of this.#noticeListeners) listener(notice);
  }

  #tellOf(place: string): void {
    // What is true of the whole machine stands on every wall.
    const places = place === this.#places()[0] && this.#of(place).some(isOfMachine) ? this.#places() : [place];
    for (const each of places) for (const listener of this.#listeners) listener(each);
  }
}

/** True of the machine that predicts, and so of every place. Told in the first. */
function isOfMachine({ rule, text }: Warning): boolean {
  return rule === "store" || rule === "records" || text.key === "warn.clock-own";
}

function warningOf(place: string, condition: Condition, occurrence: Occurrence, nowMs: number): Warning {
  const { key: _, ...about } = condition;
  const { id, sinceMs, answer, setAside } = occurrence;
  const isAside = setAside !== null && nowMs < setAside.untilMs;
  const state = answer !== null ? "answered" : isAside ? "set aside" : "open";
  return { ...about, id, place, sinceMs, state, answer, setAside };
}

function sorted(warnings: Warning[]): Warning[] {
  return warnings.sort(
    (a, b) =>
      Number(b.state === "open") - Number(a.state === "open") ||
      urgencyOrder[a.urgency] - urgencyOrder[b.urgency] ||
      b.sinceMs - a.sinceMs,
  );
}

function mapIn<T>(maps: Map<string, Map<string, T>>, place: string): Map<string, T> {
  const map = maps.get(place) ?? new Map<string, T>();
  maps.set(place, map);
  return map;
}
