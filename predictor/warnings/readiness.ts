/** Tells once when a coat has become likely ready, and safe, for a step that a hand does. */
import { text } from "../../words/text.ts";
import type { StageName } from "../cure/sheet.ts";
import type { CoatNow } from "./coat-rules.ts";
import type { NoticeData } from "./notices.ts";

const steps: readonly StageName[] = ["overcoat", "sand", "demask", "assemble", "polish"];
/** Where safe follows likely within this, likely is no news (our choice). */
const soonSafeMs = 5 * 60_000;
/** What became ready before that is not news any more, as after a start or a late entry. */
const newsForMs = 5 * 60_000;

export class Readiness {
  readonly #said = new Map<string, Set<string>>();

  /** What is new of a coat. */
  of(coat: CoatNow, nowMs: number): NoticeData[] {
    const said = this.#said.get(coat.id) ?? new Set();
    this.#said.set(coat.id, said);
    const news: NoticeData[] = [];
    for (const { stage, likelyAtMs, safeAtMs } of coat.stages) {
      if (!steps.includes(stage)) continue;
      const instants = [
        { key: "notice.likely", atMs: likelyAtMs, urgency: "today" },
        { key: "notice.ready", atMs: safeAtMs, urgency: "soon" },
      ] as const;
      for (const { key, atMs, urgency } of instants) {
        const name = `${stage}/${key}`;
        if (atMs === null || atMs > nowMs || said.has(name)) continue;
        said.add(name);
        const isSoonSafe = key === "notice.likely" && safeAtMs !== null && safeAtMs - atMs < soonSafeMs;
        if (nowMs - atMs > newsForMs || isSoonSafe) continue;
        news.push({
          id: `ready-${coat.id}-${name}`,
          atMs: nowMs,
          kind: "ready",
          urgency,
          text: text(key, { name: coat.name, stage: text(`doing.${stage}` as "doing.sand") }),
          action: text("caution.ready"),
          warningId: null,
          coatId: coat.id,
          carId: coat.carId,
          count: 1,
        });
      }
    }
    return news;
  }

  /** Forgets all coats but these. */
  keepOnly(coatIds: ReadonlySet<string>): void {
    for (const id of this.#said.keys()) if (!coatIds.has(id)) this.#said.delete(id);
  }
}
