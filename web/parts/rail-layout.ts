/** Where everything on a time rail stands, in CSS pixels from the axis start. Pure: the drawing is in time-rail.tsx. */
import type { Band, StageView, WindowView } from "../../predictor/serve/api.ts";
import type { Words } from "../../words/words.ts";
import { stageWord } from "./coat-words.ts";
import type { RailCoat } from "./rail-coat.ts";
import { msOf, type ShopClock } from "./shop-clock.ts";
import { shareOf, type TimeScale } from "./time-scale.ts";

export interface RailMark {
  stage: StageView["stage"];
  state: StageView["state"];
  likelyX: number;
  /** Where the tail ends; null when no safe time is known. */
  safeX: number | null;
  /** Null where no room is left for it. */
  label: { text: string; x: number } | null;
}
export interface RailGate {
  state: WindowView["state"];
  fromX: number;
  toX: number;
  /** False where the gate stands beyond the axis. */
  opensHere: boolean;
  shutsHere: boolean;
}
export interface RailBand {
  kind: Band["kind"];
  fromX: number;
  toX: number;
  /** Empty where the band is too short for its text. */
  text: string;
}
export interface RailLayout {
  /** From the finish to now; `finishX` is below 0 when the finish lies before the axis. */
  finishX: number;
  nowX: number;
  marks: RailMark[];
  gates: RailGate[];
  bands: RailBand[];
  /** Stages beyond the right end, the next one first. */
  beyond: { word: string; when: string }[];
}

export interface RailRoom {
  widthPx: number;
  /** Width to reckon for one character of a label. */
  labelCharPx: number;
  bandCharPx: number;
}

/** Lays a coat out on a shared axis. Marks before the axis are left out: the tape has covered them. */
export function layoutRail(
  coat: RailCoat,
  scale: TimeScale,
  nowMs: number,
  room: RailRoom,
  clock: ShopClock,
): RailLayout {
  const x = (atMs: number) => shareOf(scale, atMs) * room.widthPx;
  const within = (px: number) => Math.min(Math.max(px, 0), room.widthPx);
  const marks: RailMark[] = [];
  const beyond: RailLayout["beyond"] = [];
  const clockTimes = new Map<StageView["stage"], string>();
  for (const stage of coat.prediction?.stages ?? []) {
    const likelyMs = msOf(stage.likelyAt);
    if (likelyMs === null) continue;
    const safeMs = msOf(stage.safeAt);
    if (likelyMs > scale.toMs)
      beyond.push({ word: stageWord(stage.stage, clock.words), when: clock.when(likelyMs, nowMs) });
    else if (Math.max(likelyMs, safeMs ?? likelyMs) >= scale.fromMs) {
      if (stage.state === "not yet") clockTimes.set(stage.stage, clock.time(likelyMs));
      marks.push({
        stage: stage.stage,
        state: stage.state,
        likelyX: x(likelyMs),
        safeX: safeMs === null ? null : x(safeMs),
        label: null,
      });
    }
  }
  placeLabels(marks, coat.prediction?.next?.stage ?? null, clockTimes, room, clock.words);

  const gates = (coat.prediction?.windows ?? []).flatMap((window): RailGate[] => {
    const opensMs = msOf(window.opensAt);
    const closesMs = msOf(window.closesAt);
    if (opensMs === null || opensMs > scale.toMs || (closesMs !== null && closesMs < scale.fromMs)) return [];
    const shutsHere = closesMs !== null && closesMs <= scale.toMs;
    return [
      {
        state: window.state,
        fromX: within(x(opensMs)),
        toX: shutsHere ? x(closesMs) : room.widthPx,
        opensHere: opensMs >= scale.fromMs,
        shutsHere,
      },
    ];
  });

  // Gaps lie over the stay they belong to.
  const stacked = [...coat.bands].sort((a, b) => Number(a.kind === "gap") - Number(b.kind === "gap"));
  const bands = stacked.flatMap((band): RailBand[] => {
    const fromX = within(x(msOf(band.from) ?? scale.fromMs));
    const toX = within(x(Math.min(msOf(band.to) ?? nowMs, nowMs)));
    if (!(toX - fromX >= 1)) return [];
    const fits = (band.text.length + 1) * room.bandCharPx <= toX - fromX;
    return [{ kind: band.kind, fromX, toX, text: fits ? band.text : "" }];
  });

  return { finishX: x(msOf(coat.finishedAt) ?? scale.fromMs), nowX: within(x(nowMs)), marks, gates, bands, beyond };
}

/**
 * Labels that do not overlap: the next stage's first, then the later ones, then those already done, nearest first.
 * Clock times are added afterwards, in the same order, where room is left.
 */
function placeLabels(
  marks: readonly RailMark[],
  next: StageView["stage"] | null,
  clockTimes: ReadonlyMap<StageView["stage"], string>,
  room: RailRoom,
  words: Words,
): void {
  const nextIndex = marks.findIndex((mark) => mark.stage === next);
  const pivot = nextIndex === -1 ? marks.length : nextIndex;
  const order = [...marks.slice(pivot), ...marks.slice(0, pivot).reverse()];
  const widthOf = (text: string) => (text.length + 1) * room.labelCharPx;
  const place = (mark: RailMark, text: string) => {
    const wide = widthOf(text);
    const x = Math.max(0, Math.min(mark.likelyX, room.widthPx - wide));
    const meets = (other: RailMark) =>
      other !== mark &&
      other.label !== null &&
      x < other.label.x + widthOf(other.label.text) &&
      x + wide > other.label.x;
    if (wide <= room.widthPx && !marks.some(meets)) mark.label = { text, x };
  };
  for (const mark of order) place(mark, stageWord(mark.stage, words));
  for (const mark of order) {
    const time = clockTimes.get(mark.stage);
    if (time !== undefined && mark.label !== null) place(mark, `${mark.label.text} ${time}`);
  }
}
