/** What goes wrong with sensors and machines in the month, and how soon someone must know. */
import type { ClockState, CollectorState } from "../../collector/readings.ts";
import type { Fact } from "./facts.ts";
import { type Chance, type Diary, dayMs, hourMs, isWorkday, minuteMs, places, startMs } from "./invented-shop.ts";

type Sensing = "silent" | "stuck";

/** Silent and stuck sensors want a hand within a quarter of an hour, machines at once. */
const knownWithinMs = { sensor: 15 * minuteMs, machine: 5 * minuteMs };

export interface TroublesParts {
  chance: Chance;
  diary: Diary;
  days: number;
  note: (fact: Fact) => void;
}

export class Troubles {
  readonly #sensing = new Map<string, Sensing>();
  clock: ClockState = "synchronised";
  store: string | null = null;
  records: string | null = null;
  #outbox: string | null = null;

  constructor({ chance, diary, days, note }: TroublesParts) {
    const all = Array.from({ length: days }, (_, day) => startMs + day * dayMs);
    const workdays = all.filter(isWorkday);
    /** For a while by day, so many times. */
    const nowAndThen = (count: number, lasts: number, begin: () => void, end: () => void, rule: Fact["rule"]) => {
      for (const midnightMs of chance.some(count, workdays)) {
        const fromMs = midnightMs + chance.between(8, 15) * hourMs;
        diary.at(fromMs, begin);
        diary.at(fromMs + lasts * minuteMs, end);
        const byMs = fromMs + knownWithinMs.machine;
        note({ rule, what: "machine", fromMs, byMs, is: (warning) => warning.rule === rule });
      }
    };
    const once = Math.ceil(days / 28);
    const say = (key: "store" | "records", fault: string | null) => () => {
      this[key] = fault;
    };
    nowAndThen(once, 40, say("store", "disk full"), say("store", null), "store");
    nowAndThen(once, 40, say("records", "entry 7 was changed"), say("records", null), "records");
    const clock = (state: ClockState) => () => {
      this.clock = state;
    };
    nowAndThen(once, 60, clock("jumped"), clock("synchronised"), "clock");
    const outbox = (fault: string | null) => () => {
      this.#outbox = fault;
    };
    nowAndThen(once, 60, outbox("the card is full"), outbox(null), "outbox");

    const fail = (where: string, kind: Sensing, fromMs: number, untilMs: number) => {
      diary.at(fromMs, () => this.#sensing.set(where, kind));
      diary.at(untilMs, () => this.#sensing.delete(where));
      const rule = kind === "silent" ? "silent-sensor" : "bad-sensor";
      const is: Fact["is"] = (warning) => warning.rule === rule && warning.place === where;
      note({ rule, what: where, fromMs, byMs: fromMs + knownWithinMs.sensor, is });
    };
    for (const kind of ["silent", "stuck"] as const) {
      for (const midnightMs of chance.some(Math.ceil(days * 0.08), all)) {
        const where = places[Math.floor(chance.next() * places.length)] ?? "booth";
        const fromMs = midnightMs + chance.between(8, 15) * hourMs;
        fail(where, kind, fromMs, fromMs + chance.between(20, 120) * minuteMs);
      }
    }
    // A dead network: everything falls silent at once.
    for (const midnightMs of chance.some(once, all)) {
      const fromMs = midnightMs + chance.between(16, 16.5) * hourMs;
      for (const where of places) fail(where, "silent", fromMs, fromMs + 20 * minuteMs);
    }
  }

  sensing(place: string): Sensing | null {
    return this.#sensing.get(place) ?? null;
  }

  collectors(): ReadonlyMap<string, CollectorState> {
    const state: CollectorState = {
      online: true,
      since: new Date(startMs).toISOString(),
      version: "0",
      sensors: [],
      outboxPacks: 0,
      outboxFault: this.#outbox,
      clock: "synchronised",
      sources: [],
    };
    return new Map([["sim", state]]);
  }
}
