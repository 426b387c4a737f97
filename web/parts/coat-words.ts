/** What a page says about a coat: the sentence for now, the gate that may shut, what comes next, and how far to trust it. */
import type { CoatView, LessonView, StageView, WindowView } from "../../predictor/serve/api.ts";
import type { Words } from "../../words/words.ts";
import type { RailCoat } from "./rail-coat.ts";
import { capital, msOf, type ShopClock } from "./shop-clock.ts";

type StageName = StageView["stage"];
export type StageState = StageView["state"];

/** A stage in the trade's words. */
export const stageWord = (stage: StageName, words: Words) => words.t(`stage.${stage}`);

/** A stage as something to bring about: 'unmask', 'have it dust free'. */
export const stageAim = (stage: StageName, words: Words) => words.t(`aim.${stage}`);

/** 'Ready to sand', 'Ready: dust free'. */
export const readyPhrase = (stage: StageName, words: Words) => words.t(`ready.${stage}`);

/** A stage's state in words. */
export const stateWord = (state: StageState, words: Words) => words.t(`state.${dashed(state)}`);

/** What a sheet calls a window, and what it asks for after it, in this language where the catalogue knows them. */
export const windowName = (window: Pick<WindowView, "for">, words: Words) => words.named("window", window.for);
export const missedName = (window: Pick<WindowView, "ifMissed">, words: Words) =>
  words.named("missed", window.ifMissed);

type Dashed<Name extends string> = Name extends `${infer First} ${infer Rest}` ? `${First}-${Dashed<Rest>}` : Name;

/** A name with spaces as a part of a key or a class: 'check first' is 'check-first'. */
export const dashed = <Name extends string>(name: Name) => name.replaceAll(" ", "-") as Dashed<Name>;

/** A state with its shape, in words; "unknown" when there is no prediction. */
export type Mark = StageState | "unknown";

export interface CoatWords {
  /** What may be done now. */
  now: { mark: Mark; text: string };
  /** A window that is open, closing or missed; `time` is when it shuts, when known; `word` is "shuts" or "window missed". */
  gate: { state: "open" | "closing" | "missed"; time: string | null; word: string; detail: string } | null;
  /** What comes next, with its clock times and what each is, "likely" or "safe"; a coat without prediction gives the reason. */
  next: { mark: Mark; text: string; times: { time: string; word: string }[] };
  /** True where a hand may be laid on the coat, so that the caution stands there. */
  cautious: boolean;
}

/** The words for a coat at an instant (UTC ms). */
export function coatWords(coat: CoatView, clock: ShopClock, nowMs: number): CoatWords {
  const { prediction } = coat;
  const { words } = clock;
  if (prediction === null) {
    return {
      now: { mark: "unknown", text: words.t("coat.no-times") },
      gate: null,
      next: { mark: "unknown", text: coat.why ?? words.t("coat.no-reason"), times: [] },
      cautious: false,
    };
  }
  const { readyFor, checkFirst, next } = prediction;
  const now: CoatWords["now"] =
    readyFor !== null
      ? { mark: "ready", text: readyPhrase(readyFor, words) }
      : checkFirst !== null
        ? { mark: "check first", text: checkText(checkFirst, words) }
        : { mark: "not yet", text: words.t("coat.nothing-ready") };
  return {
    now,
    gate: gateWords(prediction.windows, clock, nowMs),
    next: nextWords(next, prediction.lateToday?.state ?? null, now.mark === "check first", clock, nowMs),
    cautious: now.mark !== "not yet" || next?.state === "check first",
  };
}

const checkText = (stage: StageName, words: Words) => words.t("coat.check-first", { stage: stageWord(stage, words) });

const lateKeys = { "check first": "coat.maybe-not-today", "not today": "coat.not-today" } as const;

function nextWords(
  next: StageView | null,
  late: keyof typeof lateKeys | null,
  alreadySaid: boolean,
  clock: ShopClock,
  nowMs: number,
): CoatWords["next"] {
  const { words } = clock;
  if (next === null) return { mark: "ready", text: words.t("coat.none-left"), times: [] };
  const stage = stageWord(next.stage, words);
  const likelyMs = msOf(next.likelyAt);
  const safeMs = msOf(next.safeAt);
  const safe = (time: string) => [{ time, word: words.t("time.safe") }];
  if (next.state === "check first") {
    return {
      mark: "check first",
      text: alreadySaid ? capital(stage) : checkText(next.stage, words),
      times: safeMs === null ? [] : safe(clock.when(safeMs, nowMs)),
    };
  }
  const said = late === null ? capital(stage) : words.t(lateKeys[late], { stage });
  if (likelyMs === null) {
    const text = late === null ? words.t("coat.no-time", { stage: said }) : words.t("coat.late-no-time", { said });
    return { mark: next.state, text, times: [] };
  }
  return {
    mark: next.state,
    text: said,
    times: [
      { time: clock.when(likelyMs, nowMs), word: words.t("time.likely") },
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
  const { words } = clock;
  const closesMs = msOf(window.closesAt);
  const isMissed = window.state === "missed";
  const what = windowName(window, words);
  return {
    state: window.state,
    time: closesMs === null || isMissed ? null : clock.when(closesMs, nowMs),
    word: words.t(isMissed ? "gate.missed" : "gate.shuts"),
    detail: isMissed
      ? words.t("gate.missed-detail", { what, instead: missedName(window, words) })
      : words.t("gate.open-detail", { what }),
  };
}

/** Something to know about a coat's times, in a few words. `uncovered` is of the next stage, and has a shape of its own. */
export interface CoatNote {
  kind: "late" | "stalled" | "uncovered" | "other" | "lesson";
  text: string;
}

/** The notes that need fewer words on a wall than the predictor gives them; other codes change nothing for the painter. */
const shortNotes = ["gap", "panel-estimated", "stage-never-reached"] as const;

const noteOrder = ["late", "stalled", "uncovered", "other", "lesson"] as const;

/** How far to trust a coat's times, the weightiest first, each said once. */
export function coatNotes({ prediction }: CoatView, clock: ShopClock, nowMs: number): CoatNote[] {
  if (prediction === null) return [];
  const { words } = clock;
  const { next, lateToday, lesson, notes } = prediction;
  const said = notes.flatMap(({ code, text }): CoatNote[] => {
    if (code === "stalled") return [{ kind: "stalled", text }];
    const short = shortNotes.find((known) => known === code);
    return short === undefined ? [] : [{ kind: "other", text: words.t(`note.${short}`) }];
  });
  if (lateToday !== null && next !== null) said.push({ kind: "late", text: lateText(next, lateToday, clock, nowMs) });
  // Nobody waits for full cure, and a night in a cooling shop is below most sheets.
  if (next?.isCovered === false && next.stage !== "full-cure") {
    said.push({ kind: "uncovered", text: words.t("note.uncovered") });
  }
  if (lesson.checks > 0) said.push({ kind: "lesson", text: lessonText(lesson, words) });
  const once = new Map(said.map((note) => [note.text, note]));
  return [...once.values()].sort((a, b) => noteOrder.indexOf(a.kind) - noteOrder.indexOf(b.kind));
}

/** What the shop's own checks taught of a sheet. */
export function lessonText({ checks, percentSlower, isOff }: LessonView, words: Words): string {
  if (isOff) return words.t("lesson.off", { checks });
  const percent = Math.round(percentSlower);
  if (percent === 0) return words.t("lesson.as-sheet", { checks });
  return words.t(percent > 0 ? "lesson.slower" : "lesson.faster", { percent: Math.abs(percent), checks });
}

type LateToday = NonNullable<NonNullable<CoatView["prediction"]>["lateToday"]>;

function lateText(next: StageView, late: LateToday, clock: ShopClock, nowMs: number): string {
  const { words } = clock;
  const time = clock.when(msOf(late.workEndsAt) ?? Number.NaN, nowMs);
  const stage = capital(stageWord(next.stage, words));
  return words.t(late.state === "not today" ? "note.late" : "note.maybe-late", { stage, time });
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
export function railText(coat: RailCoat, clock: ShopClock, nowMs: number): string {
  const { words } = clock;
  const at = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? words.t("time.unknown") : clock.when(ms, nowMs);
  };
  const title = { car: coat.car, sheet: coat.sheet.name, time: at(coat.finishedAt) };
  const parts = [words.t("rail.title", title)];
  if (coat.prediction === null) parts.push(coat.why ?? words.t("rail.no-prediction"));
  for (const { stage, state, likelyAt, safeAt, isCovered } of coat.prediction?.stages ?? []) {
    const values = { stage: stageWord(stage, words), state: stateWord(state, words) };
    const said =
      likelyAt === null
        ? words.t("rail.stage-no-time", values)
        : words.t("rail.stage", { ...values, likely: at(likelyAt), safe: at(safeAt) });
    parts.push(isCovered === false ? words.t("rail.uncovered", { stage: said }) : said);
  }
  for (const window of coat.prediction?.windows ?? []) {
    const state = words.t(`gate.state-${dashed(window.state)}`);
    const values = { what: windowName(window, words), state, from: at(window.opensAt), to: at(window.closesAt) };
    parts.push(words.t("rail.window", values));
  }
  for (const { text, from, to } of coat.bands) {
    const values = { text, from: at(from) };
    parts.push(to === null ? words.t("rail.band", values) : words.t("rail.band-to", { ...values, to: at(to) }));
  }
  return `${parts.join("; ")}.`;
}
