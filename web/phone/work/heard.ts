/** The notices that stand on a phone: each once, the newest first, a few at a time. */
import type { Notice } from "../../../predictor/serve/api.ts";

/** More than these would cover what one works with; the warnings page has them all. */
const shownAtMost = 2;
/** What was sent before the link broke is not sent again; ids of as many are remembered. */
const rememberedAtMost = 200;

export interface Heard {
  shown: readonly Notice[];
  /** Ids of notices that were shown, put away ones too. */
  known: readonly string[];
}

export const nothingHeard: Heard = { shown: [], known: [] };

/** The same object when the notice is known already. */
export function withNotice(heard: Heard, notice: Notice): Heard {
  if (heard.known.includes(notice.id)) return heard;
  return {
    shown: [notice, ...heard.shown].slice(0, shownAtMost),
    known: [notice.id, ...heard.known].slice(0, rememberedAtMost),
  };
}

export function without(heard: Heard, id: string): Heard {
  return { ...heard, shown: heard.shown.filter((notice) => notice.id !== id) };
}

/** Where a tap on a notice leads. */
export function leadsTo({ coatId, carId }: Pick<Notice, "coatId" | "carId">): string {
  if (coatId !== null) return `/coats/${coatId}`;
  return carId === null ? "/warnings" : `/cars/${carId}`;
}
