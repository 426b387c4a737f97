/** The warnings of the shop: raised, answered, set aside, over; each a record, and each told to people once. */
import type { Logger } from "pino";
import type { Text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { type By, notFound, type RecordedWarning } from "../records/records.ts";
import type { Rule, Standing, Urgency } from "./condition.ts";
import { gather } from "./gather.ts";
import { placesOf, stepWarnings, type Tracked } from "./life.ts";
import { type NoticeData, NoticeLimit } from "./notices.ts";
import { type Occurrence, Occurrences } from "./occurrences.ts";
import { Readiness } from "./readiness.ts";
import { type SituationParts, situationOf } from "./situation.ts";
import { Slips } from "./slips.ts";

export interface Warning {
  id: string;
  rule: Rule;
  place: string;
  /** Where else it shows: it is one warning all the same. */
  alsoAt: readonly string[];
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

const checkEveryMs = 2_000;
const dayMs = 24 * 60 * 60_000;
const urgencyOrder: Record<Urgency, number> = { now: 0, soon: 1, today: 2 };

export class Warnings {
  readonly #parts: WarningParts;
  readonly #situation: SituationParts;
  readonly #slips = new Slips();
  readonly #readiness = new Readiness();
  readonly #limit = new NoticeLimit();
  readonly #tracked = new Map<string, Tracked>();
  readonly #occurrences: Occurrences;
  readonly #listeners = new Set<(place: string) => void>();
  readonly #noticeListeners = new Set<(notice: NoticeData) => void>();
  #timer: NodeJS.Timeout | null = null;

  constructor(parts: WarningParts) {
    this.#parts = parts;
    this.#situation = { ...parts, slips: this.#slips };
    this.#occurrences = new Occurrences(parts);
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

  /** Those that show in a place, answered and set aside ones too: open ones first, then the most urgent, then the newest. */
  at(place: string): Warning[] {
    return this.all().filter((warning) => warning.place === place || warning.alsoAt.includes(place));
  }

  /** Those of all places, each once, in the same order. */
  all(): Warning[] {
    const nowMs = this.#parts.now();
    return sorted(
      [...this.#tracked.values()].flatMap(({ condition }) => {
        const occurrence = this.#occurrences.of(condition.key);
        return occurrence === undefined ? [] : [warningOf(condition, occurrence, nowMs)];
      }),
    );
  }

  /** How many were raised since the start. */
  get raised(): number {
    return this.#occurrences.raised;
  }

  /** Those that ended in the last day, the newest first. */
  ended(): RecordedWarning[] {
    return this.#parts.records.warningsEnded(this.#parts.now() - dayMs).reverse();
  }

  /** What was done about it; from then on it is not said again for this fact. Throws RecordFault where it is over. */
  answer(id: string, done: string, by: By): void {
    const { occurrence, condition } = this.#find(id);
    this.#occurrences.answer(occurrence, done, by);
    this.#limit.drop(id);
    if (condition.rule === "slipped" && condition.coatId !== null) this.#slips.known(condition.coatId);
    this.#changed(placesOf(condition));
  }

  /** Leaves it for so many minutes; then it is said anew, if it still holds. Throws RecordFault where it is over. */
  setAside(id: string, minutes: number, reason: string, by: By): void {
    const { occurrence, condition } = this.#find(id);
    this.#occurrences.setAside(occurrence, minutes, reason, by);
    this.#limit.drop(id);
    this.#changed(placesOf(condition));
  }

  /** Looks at every place now; called by the timer. */
  check(): void {
    const nowMs = this.#parts.now();
    const places = Object.keys(this.#parts.shopFile.places);
    const situations = new Map(places.map((place) => [place, situationOf(this.#situation, place, nowMs)]));
    const coats = [...situations.values()].flatMap((situation) => situation.coats);
    const pots = [...situations.values()].flatMap((situation) => situation.pots);
    const coatIds = new Set(coats.map(({ id }) => id));
    const subjects = new Set([...coatIds, ...pots.map(({ id }) => id)]);
    for (const notice of coats.flatMap((coat) => this.#readiness.of(coat, nowMs))) this.#offer(notice);

    const known = this.#occurrences;
    const isActive = (key: string) => this.#tracked.get(key)?.activeSinceMs != null || known.isBefore(key);
    const {
      begun,
      ended,
      places: changed,
    } = stepWarnings(this.#tracked, gather(situations, isActive), nowMs, {
      isSaid: (key) => known.isBefore(key),
      isAnswered: (key) => known.of(key)?.answer != null,
      isThere: (subject) => subjects.has(subject),
    });
    for (const { key } of ended) {
      this.#limit.drop(known.of(key)?.id ?? "");
      known.end(key);
    }
    for (const condition of begun) known.begin(condition);
    known.tidy();
    this.#changed([...changed, ...this.#tell(nowMs)]);
    this.#slips.keepOnly(coatIds);
    this.#readiness.keepOnly(coatIds);
    const gathered = this.#limit.due(nowMs);
    if (gathered !== null) this.#send(gathered);
  }

  /** Tells people of what is open and untold; gives the places of it. */
  #tell(nowMs: number): string[] {
    return this.all().flatMap((warning) => {
      const { occurrence, condition } = this.#find(warning.id);
      if (warning.state !== "open" || occurrence.isTold) return [];
      this.#occurrences.told(occurrence);
      const { id, urgency, text, action, coatId, carId } = warning;
      const time = (occurrence.setAside?.untilMs ?? occurrence.sinceMs).toString(36);
      const about = { warningId: id, coatId, carId, count: 1 };
      this.#offer({ id: `${id}-${time}`, atMs: nowMs, kind: "warning", urgency, text, action, ...about });
      return placesOf(condition);
    });
  }

  #find(id: string): { occurrence: Occurrence; condition: Standing } {
    const key = this.#occurrences.keyOf(id) ?? "";
    const occurrence = this.#occurrences.of(key);
    const condition = this.#tracked.get(key)?.condition;
    if (occurrence === undefined || condition === undefined) throw notFound("warning.unknown");
    return { occurrence, condition };
  }

  #offer(notice: NoticeData): void {
    const now = this.#limit.offer(notice);
    if (now !== null) this.#send(now);
  }

  #send(notice: NoticeData): void {
    for (const listener of this.#noticeListeners) listener(notice);
  }

  #changed(places: Iterable<string>): void {
    for (const place of new Set(places)) for (const listener of this.#listeners) listener(place);
  }
}

function warningOf(condition: Standing, occurrence: Occurrence, nowMs: number): Warning {
  const { rule, place, alsoAt, urgency, text, consequence, action, untilMs, coatId, carId } = condition;
  const { id, sinceMs, answer, setAside } = occurrence;
  const isAside = setAside !== null && nowMs < setAside.untilMs;
  const state = answer !== null ? "answered" : isAside ? "set aside" : "open";
  const said = { rule, place, alsoAt, urgency, text, consequence, action, untilMs, coatId, carId };
  return { id, ...said, sinceMs, state, answer, setAside };
}

function sorted(warnings: Warning[]): Warning[] {
  return warnings.sort(
    (a, b) =>
      Number(b.state === "open") - Number(a.state === "open") ||
      urgencyOrder[a.urgency] - urgencyOrder[b.urgency] ||
      b.sinceMs - a.sinceMs,
  );
}
