/** When to warn of a coat or a pot: pure. */
import { type Text, text } from "../../words/text.ts";
import type { StageOutcome } from "../cure/climb.ts";
import type { StageName } from "../cure/sheet.ts";
import type { WindowState } from "../cure/windows.ts";
import type { LateToday } from "../follow/late-today.ts";
import { type Condition, type IsActive, ofPlace } from "./condition.ts";
import type { Slip } from "./slips.ts";
import { steadiness } from "./steadiness.ts";

export interface CoatNow {
  id: string;
  carId: string;
  /** Car, panels and kind. */
  name: Text;
  windows: readonly WindowState[];
  stages: readonly StageOutcome[];
  late: LateToday | null;
  /** Not yet dust free, or whatever comes first on its sheet; until when, as far as is known. */
  isWet: boolean;
  wetUntilMs: number | null;
  /** When the car was moved while the coat was still wet. */
  movedWetAtMs: number | null;
  promisedAtMs: number | null;
  slip: Slip | null;
}

export interface PotNow {
  id: string;
  /** Where it stands. */
  place: string;
  /** The material's kind and when it was mixed tell one pot from another. */
  kind: string;
  mixedAtMs: number;
  /** From when its life is nearly over, and over. */
  closingFromMs: number | null;
  useByAtMs: number | null;
}

/** A missed window, and a move of a wet coat, are said for this long; then they are history, and the coat's own page tells them. */
const saidMs = 60 * 60_000;
/** What a car waits for before it is handed over, the last first. */
const lastSteps: readonly StageName[] = ["polish", "assemble", "demask", "sand", "overcoat"];

export function coatConditions(coat: CoatNow, nowMs: number, isActive: IsActive): Condition[] {
  return [
    ...coat.windows.flatMap((window) => windowConditions(coat, window, nowMs, isActive)),
    ...notToday(coat, nowMs, isActive),
    ...promise(coat, nowMs, isActive),
    ...slipped(coat, nowMs),
    ...movedWet(coat, nowMs),
  ];
}

const ofCoat = ({ id, carId }: CoatNow) => ({ ...ofPlace, coatId: id, carId, isShared: true, subject: id });
const stageText = (stage: StageName): Text => text(`stage.${stage}`);

function windowConditions(coat: CoatNow, window: WindowState, nowMs: number, isActive: IsActive): Condition[] {
  const { closesAtMs, closingFromMs } = window;
  if (closesAtMs === null) return [];
  const values = {
    name: coat.name,
    for: { prefix: "window", name: window.for },
    instead: { prefix: "missed", name: window.ifMissed },
    time: { timeMs: closesAtMs, nowMs },
  };
  const closing = `window-closing/${coat.id}/${window.for}`;
  const missed = `window-missed/${coat.id}/${window.for}`;
  const missedBandMs = isActive(missed) ? steadiness["window-missed"].bandMs : 0;
  if (nowMs >= closesAtMs - missedBandMs) {
    if (nowMs - closesAtMs > saidMs + missedBandMs) return [];
    return [
      {
        ...ofCoat(coat),
        key: missed,
        rule: "window-missed",
        urgency: "soon",
        text: text("warn.window-missed", values),
        consequence: text("warn.window-missed.else"),
        action: text("warn.window-missed.do", values),
        replaces: closing,
      },
    ];
  }
  const closingBandMs = isActive(closing) ? steadiness["window-closing"].bandMs : 0;
  if (closingFromMs === null || nowMs < closingFromMs - closingBandMs) return [];
  return [
    {
      ...ofCoat(coat),
      key: closing,
      rule: "window-closing",
      urgency: "now",
      text: text("warn.window-closing", values),
      consequence: text("warn.window-closing.else", values),
      action: text("warn.window-closing.do", values),
      untilMs: closesAtMs,
      replaces: missed,
    },
  ];
}

function notToday(coat: CoatNow, nowMs: number, isActive: IsActive): Condition[] {
  if (coat.late === null) return [];
  const { state, stage, workEndsAtMs } = coat.late;
  const key = `not-today/${coat.id}`;
  const isNear = (stage.likelyAtMs ?? workEndsAtMs) > workEndsAtMs - steadiness["not-today"].bandMs;
  if (state !== "not today" && !(isActive(key) && isNear)) return [];
  const values = { name: coat.name, stage: stageText(stage.stage), ends: { timeMs: workEndsAtMs } };
  return [
    {
      ...ofCoat(coat),
      key,
      rule: "not-today",
      urgency: "today",
      text:
        stage.likelyAtMs === null
          ? text("warn.not-today-never", values)
          : text("warn.not-today", { ...values, likely: { timeMs: stage.likelyAtMs, nowMs } }),
      consequence: text("warn.not-today.else"),
      action: text("warn.not-today.do"),
      untilMs: workEndsAtMs,
    },
  ];
}

/** The last step that a sheet knows of will not be safe by the promised time. */
function promise(coat: CoatNow, nowMs: number, isActive: IsActive): Condition[] {
  const { promisedAtMs, stages, name } = coat;
  const last = lastSteps.flatMap((step) => stages.filter(({ stage }) => stage === step))[0];
  if (promisedAtMs === null || last === undefined || promisedAtMs < nowMs - saidMs) return [];
  // Another promise is another fact.
  const key = `promise/${coat.id}/${promisedAtMs}`;
  const bandMs = isActive(key) ? steadiness.promise.bandMs : 0;
  if (last.safeAtMs !== null && last.safeAtMs <= promisedAtMs - bandMs) return [];
  const values = { name, stage: stageText(last.stage), promised: { timeMs: promisedAtMs, nowMs } };
  return [
    {
      ...ofCoat(coat),
      key,
      rule: "promise",
      urgency: "today",
      text:
        last.safeAtMs === null
          ? text("warn.promise-never", values)
          : text("warn.promise", { ...values, safe: { timeMs: last.safeAtMs, nowMs } }),
      consequence: text("warn.promise.else"),
      action: text("warn.promise.do"),
      untilMs: promisedAtMs,
    },
  ];
}

function slipped(coat: CoatNow, nowMs: number): Condition[] {
  if (coat.slip === null) return [];
  const { stage, toldAtMs, likelyAtMs } = coat.slip;
  const values = { name: coat.name, stage: stageText(stage), told: { timeMs: toldAtMs, nowMs } };
  return [
    {
      ...ofCoat(coat),
      // Once a slip is known it is measured anew: what comes then is another.
      key: `slipped/${coat.id}/${stage}/${toldAtMs}`,
      rule: "slipped",
      urgency: "today",
      text: text("warn.slipped", { ...values, likely: { timeMs: likelyAtMs, nowMs } }),
      consequence: text("warn.slipped.else"),
      action: text("warn.slipped.do"),
    },
  ];
}

function movedWet(coat: CoatNow, nowMs: number): Condition[] {
  const { movedWetAtMs, name } = coat;
  if (movedWetAtMs === null || nowMs - movedWetAtMs > saidMs) return [];
  return [
    {
      ...ofCoat(coat),
      key: `moved-wet/${coat.id}/${movedWetAtMs}`,
      rule: "moved-wet",
      urgency: "soon",
      text: text("warn.moved-wet", { name, time: { timeMs: movedWetAtMs, nowMs } }),
      consequence: text("warn.moved-wet.else"),
      action: text("warn.moved-wet.do"),
    },
  ];
}

/** That its life is nearly over and that it is over are two facts: what was done about the first says nothing of the second. */
export function potConditions(pot: PotNow, nowMs: number, isActive: IsActive): Condition[] {
  const { id, place, kind, mixedAtMs, closingFromMs, useByAtMs } = pot;
  if (useByAtMs === null || closingFromMs === null) return [];
  const values = {
    kind: { prefix: "kind", name: kind },
    mixed: { timeMs: mixedAtMs },
    useBy: { timeMs: useByAtMs },
  };
  const closing = `pot-life/${id}/closing`;
  const over = `pot-life/${id}/over`;
  const holds = (key: string, fromMs: number) => nowMs >= fromMs - (isActive(key) ? steadiness["pot-life"].bandMs : 0);
  const base = { ...ofPlace, rule: "pot-life", isShared: true, home: place, subject: id } as const;
  if (holds(over, useByAtMs)) {
    return [
      {
        ...base,
        key: over,
        urgency: "soon",
        text: text("warn.pot-over", values),
        consequence: text("warn.pot-over.else"),
        action: text("warn.pot-over.do"),
        replaces: closing,
      },
    ];
  }
  if (!holds(closing, closingFromMs)) return [];
  return [
    {
      ...base,
      key: closing,
      urgency: "now",
      text: text("warn.pot-closing", values),
      consequence: text("warn.pot-closing.else"),
      action: text("warn.pot-closing.do"),
      untilMs: useByAtMs,
      replaces: over,
    },
  ];
}
