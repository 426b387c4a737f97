/**
 * What reaches a person, and how much of it: each occurrence once, and never more than ten messages in ten minutes
 * (the bound that ISA-18.2 and IEC 62682 work with in general, value from memory); what is over it comes gathered. Pure.
 */
import { type Text, text } from "../../words/text.ts";
import type { Urgency } from "./condition.ts";

export interface NoticeData {
  id: string;
  atMs: number;
  kind: "warning" | "ready" | "gathered";
  urgency: Urgency;
  text: Text;
  action: Text;
  warningId: string | null;
  coatId: string | null;
  carId: string | null;
  /** How many it stands for. */
  count: number;
}

export const spanMs = 10 * 60_000;
/** So many single ones in any ten minutes, by how soon a hand is wanted; the five that are left are for gathered ones. */
const singleAtMost: Record<Urgency, number> = { now: 5, soon: 3, today: 2 };
/** No sooner after one another: at most five in ten minutes. */
const gatherEveryMs = 2 * 60_000;
const order: readonly Urgency[] = ["now", "soon", "today"];

export class NoticeLimit {
  readonly #singleAtMs: number[] = [];
  #gatheredAtMs = Number.NEGATIVE_INFINITY;
  #held: NoticeData[] = [];

  /** The notice when it may go now; null when it waits to be gathered. */
  offer(notice: NoticeData): NoticeData | null {
    while ((this.#singleAtMs[0] ?? notice.atMs) <= notice.atMs - spanMs) this.#singleAtMs.shift();
    // Behind others that wait, a less urgent one waits too.
    if (this.#singleAtMs.length < singleAtMost[notice.urgency]) {
      this.#singleAtMs.push(notice.atMs);
      return notice;
    }
    this.#held.push(notice);
    return null;
  }

  /** What waits, gathered, once it may go; to be asked every few seconds. A single one goes as it is. */
  due(nowMs: number): NoticeData | null {
    const first = order.flatMap((urgency) => this.#held.filter((notice) => notice.urgency === urgency))[0];
    if (first === undefined || !(nowMs - this.#gatheredAtMs >= gatherEveryMs)) return null;
    const count = this.#held.length;
    this.#held = [];
    this.#gatheredAtMs = nowMs;
    if (count === 1) return { ...first, atMs: nowMs };
    return {
      ...first,
      id: `gathered-${first.id}`,
      atMs: nowMs,
      kind: "gathered",
      text: text("notice.gathered", { count, first: first.text }),
      action: text("notice.gathered.do"),
      warningId: null,
      coatId: null,
      carId: null,
      count,
    };
  }

  /** Takes back what waits about a warning that is over or was answered meanwhile. */
  drop(warningId: string): void {
    this.#held = this.#held.filter((notice) => notice.warningId !== warningId);
  }
}
