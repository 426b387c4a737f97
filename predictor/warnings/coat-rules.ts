/** When to warn of a coat or a pot: pure. */
import { type Text, text } from "../../words/text.ts";
import type { StageOutcome } from "../cure/climb.ts";
import type { StageName } from "../cure/sheet.ts";
import type { WindowState } from "../cure/windows.ts";
import type { LateToday } from "../follow/late-today.ts";
import type { Condition } from "./condition.ts";
import type { Slip } from "./slips.ts";

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
  /** The material's kind and when it was mixed tell one pot from another. */
  kind: string;
  mixedAtMs: number;
  useByAtMs: number | null;
  state: "good" | "closing" | "over" | "unknown";
}

/** A missed window, and a move of a wet coat, are said for this long; then they are history, and the coat's own page tells them. */
const saidMs = 60 * 60_000;
/** What a car waits for before it is handed over, the last first. */
const lastSteps: readonly StageName[] = ["polish", "assemble", "demask", "sand", "overcoat"];

export function coatConditions(coat: CoatNow, nowMs: number): Condition[] {
  return [
    ...coat.windows.flatMap((window) => windowConditions(coat, window, nowMs)),
    ...notToday(coat, nowMs),
    ...promise(coat, nowMs),
    ...slipped(coat, nowMs),
    ...movedWet(coat, nowMs),
  ];
}

const ofCoat = ({ id, carId }: CoatNow) => ({ coatId: id, carId });
const stageText = (stage: StageName): Text => text(`stage.${stage}`);

function windowConditions(coat: CoatNow, window: WindowState, nowMs: number): Condition[] {
  const { closesAtMs, state } = window;
  if (closesAtMs === null) return [];
  const values = {
    name: coat.name,
    for: { prefix: "window", name: window.for },
    instead: { prefix: "missed", name: window.ifMissed },
    time: { timeMs: closesAtMs, nowMs },
  };
  if (state === "closing") {
    return [
      {
        key: `window-closing/${coat.id}/${window.for}`,
        rule: "window-closing",
        urgency: "now",
        text: text("warn.window-closing", values),
        consequence: text("warn.window-closing.else", values),
        action: text("warn.window-closing.do", values),
        untilMs: closesAtMs,
        ...ofCoat(coat),
      },
    ];
  }
  if (state !== "missed" || nowMs - closesAtMs > saidMs) return [];
  return [
    {
      key: `window-missed/${coat.id}/${window.for}`,
      rule: "window-missed",
      urgency: "soon",
      text: text("warn.window-missed", values),
      consequence: text("warn.window-missed.else"),
      action: text("warn.window-missed.do", values),
      untilMs: null,
      ...ofCoat(coat),
    },
  ];
}

function notToday(coat: CoatNow, nowMs: number): Condition[] {
  if (coat.late?.state !== "not today") return [];
  const { stage, workEndsAtMs } = coat.late;
  const values = { name: coat.name, stage: stageText(stage.stage), ends: { timeMs: workEndsAtMs } };
  return [
    {
      key: `not-today/${coat.id}`,
      rule: "not-today",
      urgency: "today",
      text:
        stage.likelyAtMs === null
          ? text("warn.not-today-never", values)
          : text("warn.not-today", { ...values, likely: { timeMs: stage.likelyAtMs, nowMs } }),
      consequence: text("warn.not-today.else"),
      action: text("warn.not-today.do"),
      untilMs: workEndsAtMs,
      ...ofCoat(coat),
    },
  ];
}

/** The last step that a sheet knows of will not be safe by the promised time. */
function promise(coat: CoatNow, nowMs: number): Condition[] {
  const { promisedAtMs, stages, name } = coat;
  const last = lastSteps.flatMap((step) => stages.filter(({ stage }) => stage === step))[0];
  if (promisedAtMs === null || last === undefined || promisedAtMs < nowMs - saidMs) return [];
  if (last.safeAtMs !== null && last.safeAtMs <= promisedAtMs) return [];
  const values = { name, stage: stageText(last.stage), promised: { timeMs: promisedAtMs, nowMs } };
  return [
    {
      key: `promise/${coat.id}`,
      rule: "promise",
      urgency: "today",
      text:
        last.safeAtMs === null
          ? text("warn.promise-never", values)
          : text("warn.promise", { ...values, safe: { timeMs: last.safeAtMs, nowMs } }),
      consequence: text("warn.promise.else"),
      action: text("warn.promise.do"),
      untilMs: promisedAtMs,
      ...ofCoat(coat),
    },
  ];
}

function slipped(coat: CoatNow, nowMs: number): Condition[] {
  if (coat.slip === null) return [];
  const { stage, toldAtMs, likelyAtMs } = coat.slip;
  const values = { name: coat.name, stage: stageText(stage), told: { timeMs: toldAtMs, nowMs } };
  return [
    {
      key: `slipped/${coat.id}/${stage}`,
      rule: "slipped",
      urgency: "today",
      text: text("warn.slipped", { ...values, likely: { timeMs: likelyAtMs, nowMs } }),
      consequence: text("warn.slipped.else"),
      action: text("warn.slipped.do"),
      untilMs: null,
      ...ofCoat(coat),
    },
  ];
}

function movedWet(coat: CoatNow, nowMs: number): Condition[] {
  const { movedWetAtMs, name } = coat;
  if (movedWetAtMs === null || nowMs - movedWetAtMs > saidMs) return [];
  return [
    {
      key: `moved-wet/${coat.id}/${movedWetAtMs}`,
      rule: "moved-wet",
      urgency: "soon",
      text: text("warn.moved-wet", { name, time: { timeMs: movedWetAtMs, nowMs } }),
      consequence: text("warn.moved-wet.else"),
      action: text("warn.moved-wet.do"),
      untilMs: null,
      ...ofCoat(coat),
    },
  ];
}

export function potConditions({ id, kind, mixedAtMs, useByAtMs, state }: PotNow): Condition[] {
  if (useByAtMs === null || (state !== "closing" && state !== "over")) return [];
  const values = {
    kind: { prefix: "kind", name: kind },
    mixed: { timeMs: mixedAtMs },
    useBy: { timeMs: useByAtMs },
  };
  const base = { key: `pot-life/${id}`, rule: "pot-life" as const, coatId: null, carId: null };
  if (state === "closing") {
    return [
      {
        ...base,
        urgency: "now",
        text: text("warn.pot-closing", values),
        consequence: text("warn.pot-closing.else"),
        action: text("warn.pot-closing.do"),
        untilMs: useByAtMs,
      },
    ];
  }
  return [
    {
      ...base,
      urgency: "soon",
      text: text("warn.pot-over", values),
      consequence: text("warn.pot-over.else"),
      action: text("warn.pot-over.do"),
      untilMs: null,
    },
  ];
}
