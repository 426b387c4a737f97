/** What a page says about a coat: the sentence for now, the gate that may shut, what comes next, and how far to trust it. */
import type { CoatView, StageView, WindowView } from "../../predictor/serve/api.ts";
import { capital, msOf, type ShopClock } from "./shop-clock.ts";

type StageName = StageView["stage"];
export type StageState = StageView["state"];

/** The trade's word for a stage; `task` when it is something a hand does, and may follow 'ready to'. */
const stageWords: Record<StageName, { word: string; task: boolean }> = {
  "touch-dry": { word: "touch dry", task: false },
  "dust-free": { word: "dust free", task: false },
  "tack-free": { word: "tack free", task: false },
  overcoat: { word: "overcoat", task: true },
  sand: { word: "sand", task: true },
  demask: { word: "unmask", task: true },
  assemble: { word: "reassemble", task: true },
  polish: { word: "polish", task: true },
  "full-cure": { word: "full cure", task: false },
};

/** A stage in the trade's words. */
export const stageWord = (stage: StageName) => stageWords[stage].word;

/** A stage as something to bring about: 'unmask', 'have it dust free'. */
export const stageAim = (stage: StageName) => `${stageWords[stage].task ? "" : "have it "}${stageWords[stage].word}`;

/** 'Ready to sand', 'Ready: dust free'. */
export const readyPhrase = (stage: StageName) =>
  stageWords[stage].task ? `Ready to ${stageWords[stage].word}` : `Ready: ${stageWords[stage].word}`;

/** A state with its shape, in words; "unknown" when there is no prediction. */
export type Mark = StageState | "unknown";

export interface CoatWords {
  /** What may be done now. */
  now: { mark: Mark; text: string };
  /** A window that is open, closing or missed; `time` is when it shuts, when known. */
  gate: { state: "open" | "closing" | "missed"; time: string | null; detail: string } | null;
  /** What comes next, with its clock times; a coat without prediction gives the reason. */
  next: { mark: Mark; text: string; times: { time: string; word: "likely" | "safe" }[] };
  /** True where a hand may be laid on the coat, so that the caution stands there. */
  cautious: boolean;
}

/** The words for a coat at an instant (UTC ms). */
export function coatWords(coat: CoatView, clock: ShopClock, nowMs: number): CoatWords {
  const { prediction } = coat;
  if (prediction === null) {
    return {
      now: { mark: "unknown", text: "No times yet" },
      gate: null,
      next: { mark: "unknown", text: coat.why ?? "No prediction, and no reason was given", times: [] },
      cautious: false,
    };
  }
  const { readyFor, checkFirst, next } = prediction;
  const now: CoatWords["now"] =
    readyFor !== null
      ? { mark: "ready", text: readyPhrase(readyFor) }
      : checkFirst !== null
        ? { mark: "check first", text: `Check first: ${stageWord(checkFirst)}` }
        : { mark: "not yet", text: "Nothing ready yet" };
  return {
    now,
    gate: gateWords(prediction.windows, clock, nowMs),
    next: nextWords(next, prediction.lateToday?.state ?? null, now.mark === "check first", clock, nowMs),
    cautious: now.mark !== "not yet" || next?.state === "check first",
  };
}

const lateWords = { "check first": "Maybe not today: ", "not today": "Not today: " } as const;

function nextWords(
  next: StageView | null,
  late: keyof typeof lateWords | null,
  alreadySaid: boolean,
  clock: ShopClock,
  nowMs: number,
): CoatWords["next"] {
  if (next === null) return { mark: "ready", text: "No stage left to wait for", times: [] };
  const word = stageWord(next.stage);
  const likelyMs = msOf(next.likelyAt);
  const safeMs = msOf(next.safeAt);
  const safe = (time: string) => [{ time, word: "safe" as const }];
  if (next.state === "check first") {
    return {
      mark: "check first",
      text: alreadySaid ? capital(word) : `Check first: ${word}`,
      times: safeMs === null ? [] : safe(clock.when(safeMs, nowMs)),
    };
  }
  const text = capital(`${late === null ? "" : lateWords[late]}${word}`);
  if (likelyMs === null)
    return { mark: next.state, text: `${text}${late === null ? ":" : ","} no time in this air`, times: [] };
  return {
    mark: next.state,
    text,
    times: [
      { time: clock.when(likelyMs, nowMs), word: "likely" },
      ...(safeMs === null ? [] : safe(clock.whenAfter(likelyMs, safeMs, nowMs))),
    ],
  };
}

const gateOrder = ["closing", "open", "missed"] as const;

/** The window that matters most: one that is closing, then an open one, then one that was missed. */
export function pressingWindow(windows: readonly WindowView[]): WindowView | null {
  for (const state of gateOrder) {
    const found = windows.find((window) => window.state === state);
    if (found !== undefined) return found;
  }
  return null;
}

function gateWords(windows: readonly WindowView[], clock: ShopClock, nowMs: number): CoatWords["gate"] {
  const window = pressingWindow(windows);
  if (window === null || window.state === "not open") return null;
  const closesMs = msOf(window.closesAt);
  return {
    state: window.state,
    time: closesMs === null || window.state === "missed" ? null : clock.when(closesMs, nowMs),
    detail:
      window.state === "missed" ? `Missed: ${window.for}. Now ${window.ifMissed}.` : `Open window: ${window.for}.`,
  };
}

/** Something to know about a coat's times, in a few words. `uncovered` is of the next stage, and has a shape of its own. */
export interface CoatNote {
  kind: "late" | "stalled" | "uncovered" | "other" | "lesson";
  text: string;
}

/** The notes that need fewer words on a wall than the predictor gives them; those in neither list change nothing for the painter. */
const noteWords: Record<string, CoatNote> = {
  gap: { kind: "other", text: "Readings are missing" },
  "panel-estimated": { kind: "other", text: "Panel temperature estimated" },
  "stage-never-reached": { kind: "other", text: "Not every stage is reached in this air" },
};

const noteOrder = ["late", "stalled", "uncovered", "other", "lesson"] as const;

/** How far to trust a coat's times, the weightiest first, each said once. */
export function coatNotes({ prediction }: CoatView, clock: ShopClock, nowMs: number): CoatNote[] {
  if (prediction === null) return [];
  const { next, lateToday, lesson, notes } = prediction;
  const said = notes.flatMap(({ code, text }): CoatNote[] => {
    if (code === "stalled") return [{ kind: "stalled", text }];
    const words = noteWords[code];
    return words === undefined ? [] : [words];
  });
  if (lateToday !== null && next !== null) said.push({ kind: "late", text: lateText(next, lateToday, clock, nowMs) });
  // Nobody waits for full cure, and a night in a cooling shop is below most sheets.
  if (next?.isCovered === false && next.stage !== "full-cure") {
    said.push({ kind: "uncovered", text: "Sheet does not cover this temperature" });
  }
  if (lesson.checks > 0) said.push({ kind: "lesson", text: capital(lesson.text) });
  const once = new Map(said.map((note) => [note.text, note]));
  return [...once.values()].sort((a, b) => noteOrder.indexOf(a.kind) - noteOrder.indexOf(b.kind));
}

type LateToday = NonNullable<NonNullable<CoatView["prediction"]>["lateToday"]>;

function lateText(next: StageView, late: LateToday, clock: ShopClock, nowMs: number): string {
  const word = capital(stageWord(next.stage));
  const endsMs = msOf(late.workEndsAt);
  const ends = endsMs === null ? "" : ` at ${clock.when(endsMs, nowMs)}`;
  return late.state === "not today"
    ? `${word} not before work ends${ends}`
    : `${word} maybe only after work ends${ends}`;
}

/** When something happens next to a coat, in UTC ms: a stage turns likely or safe, or an open window shuts; Infinity when nothing will. */
export function nextEventMs(coat: CoatView): number {
  if (coat.prediction === null) return Number.POSITIVE_INFINITY;
  const { next, windows } = coat.prediction;
  const stageMs = next === null ? null : msOf(next.state === "check first" ? next.safeAt : next.likelyAt);
  const gateMs = windows
    .filter((window) => window.state === "open" || window.state === "closing")
    .map((window) => msOf(window.closesAt));
  return Math.min(...[stageMs, ...gateMs].map((ms) => ms ?? Number.POSITIVE_INFINITY));
}

/** The rail in words, for those who do not see it. */
export function railText(coat: CoatView, clock: ShopClock, nowMs: number): string {
  const at = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? "unknown" : clock.when(ms, nowMs);
  };
  const parts = [`Time rail of ${coat.car}, ${coat.sheet.name}: finished ${at(coat.finishedAt)}`];
  if (coat.prediction === null) parts.push(coat.why ?? "no prediction");
  for (const stage of coat.prediction?.stages ?? []) {
    const times = stage.likelyAt === null ? "no time" : `likely ${at(stage.likelyAt)}, safe ${at(stage.safeAt)}`;
    parts.push(
      `${stageWord(stage.stage)} ${stage.state}, ${times}${stage.isCovered ? "" : ", not covered by the sheet"}`,
    );
  }
  for (const window of coat.prediction?.windows ?? []) {
    parts.push(`window for ${window.for} ${window.state}, from ${at(window.opensAt)} to ${at(window.closesAt)}`);
  }
  for (const band of coat.bands) {
    parts.push(`${band.text} from ${at(band.from)}${band.to === null ? "" : ` to ${at(band.to)}`}`);
  }
  return `${parts.join("; ")}.`;
}
