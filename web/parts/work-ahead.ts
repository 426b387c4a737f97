/** What the work ahead in a place asks of the clock: by when a coat must be finished, and how long a mixed pot lasts. */
import type { PlaceView, PotView, StartByView } from "../../predictor/serve/api.ts";
import { stageAim } from "./coat-words.ts";
import { capital, msOf, type ShopClock } from "./shop-clock.ts";

export interface StartByWords {
  /** Tells one question from another. */
  id: string;
  /** "To unmask by 17:00, finish the clearcoat by". */
  question: string;
  /** The place itself first, then those where it is not too late. `time` is null where it is. */
  answers: { place: string; time: string | null; word: string }[];
}

/**
 * One entry for each sheet and stage asked about, with its places. A finish for which the stage is safe in time goes before one for which it is
 * only likely; an instant that has passed counts as too late.
 */
export function startByWords(view: PlaceView, clock: ShopClock, nowMs: number): StartByWords[] {
  const groups = new Map<string, StartByView[]>();
  for (const entry of view.startBy) {
    const id = `${entry.sheet.id} ${entry.stage} ${entry.by}`;
    groups.set(id, [...(groups.get(id) ?? []), entry]);
  }
  const sheetsOfKind = (kind: string) =>
    new Set(view.startBy.filter(({ sheet }) => sheet.kind === kind).map(({ sheet }) => sheet.id)).size;
  const { words } = clock;
  return [...groups].flatMap(([id, entries]): StartByWords[] => {
    const [first] = entries;
    if (first === undefined) return [];
    const { sheet, stage, by } = first;
    const kind = words.named("kind", sheet.kind);
    const coat = sheetsOfKind(sheet.kind) > 1 ? sheet.name : words.t("start-by.the-kind", { kind });
    const isHere = ({ place }: StartByView) => place.id === view.place.id;
    const answers = entries
      .toSorted((a, b) => Number(isHere(b)) - Number(isHere(a)))
      .map((entry) => ({
        place: isHere(entry) ? words.t("start-by.here") : words.t("start-by.in", { place: entry.place.name }),
        ...finishWords(entry, clock, nowMs),
      }));
    const time = clock.when(msOf(by) ?? Number.NaN, nowMs);
    return [
      {
        id,
        question: words.t("start-by.question", { aim: stageAim(stage, words), time, coat }),
        answers: answers.filter(({ time }, index) => index === 0 || time !== null),
      },
    ];
  });
}

function finishWords({ safeFinishBy, likelyFinishBy }: StartByView, clock: ShopClock, nowMs: number) {
  const ahead = (iso: string | null) => {
    const ms = msOf(iso);
    return ms !== null && ms >= nowMs ? clock.when(ms, nowMs) : null;
  };
  const safe = ahead(safeFinishBy);
  if (safe !== null) return { time: safe, word: "" };
  const likely = ahead(likelyFinishBy);
  return likely !== null
    ? { time: likely, word: clock.words.t("start-by.check-first") }
    : { time: null, word: clock.words.t("start-by.too-late") };
}

export interface PotWords {
  id: string;
  state: PotView["state"];
  /** "Clearcoat mixed 10:05". */
  name: string;
  word: string;
  /** Null where no reading tells of its life. */
  time: string | null;
}

/** A pot in words. Its early edge counts: nine pots in ten last longer. */
export function potWords(pot: PotView, clock: ShopClock, nowMs: number): PotWords {
  const { words } = clock;
  const edgeMs = msOf(pot.useBy);
  const mixed = {
    kind: capital(words.named("kind", pot.sheet.kind)),
    time: clock.when(msOf(pot.mixedAt) ?? Number.NaN, nowMs),
  };
  return {
    id: pot.id,
    state: pot.state,
    name: words.t("pot.mixed", mixed),
    word: words.t(`pot.${pot.state}`),
    time: pot.state === "unknown" || edgeMs === null ? null : clock.when(edgeMs, nowMs),
  };
}

/** The pots that take turns where only one is shown: those that are closing or over, else all. */
export function pressingPots(pots: readonly PotView[]): readonly PotView[] {
  const pressing = pots.filter(({ state }) => state === "closing" || state === "over");
  return pressing.length > 0 ? pressing : pots;
}
