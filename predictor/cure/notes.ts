/** What a person should know about a prediction. */
import { type Text, text, type Value } from "../../words/text.ts";
import type { Note } from "./climb.ts";
import type { Ladder } from "./ladder.ts";
import type { StageName } from "./sheet.ts";

function duration(fromMs: number, toMs: number): Text {
  const minutes = Math.round((toMs - fromMs) / 60_000);
  return minutes < 120 ? text("duration.minutes", { minutes }) : text("duration.hours", { hours: minutes / 60 });
}

export function gapNote(fromMs: number, toMs: number, heldPanelC: number): Note {
  const values = { duration: duration(fromMs, toMs), held: { celsius: heldPanelC } };
  return { code: "gap", text: text("model-note.gap", values), fromMs, toMs };
}

export function staleNote(fromMs: number, toMs: number): Note {
  return { code: "gap", text: text("model-note.stale", { duration: duration(fromMs, toMs) }), fromMs, toMs };
}

export function heldBackNote(finishedAtMs: number, firstReadingMs: number): Note {
  const values = { duration: duration(finishedAtMs, firstReadingMs) };
  return {
    code: "held-back-to-finish",
    text: text("model-note.held-back", values),
    fromMs: finishedAtMs,
    toMs: firstReadingMs,
  };
}

export function noReadingsNote(): Note {
  return { code: "no-readings", text: text("model-note.no-readings") };
}

export function meansNote(): Note {
  return { code: "from-means", text: text("model-note.from-means") };
}

export function estimatedNote(): Note {
  return { code: "panel-estimated", text: text("model-note.panel-estimated") };
}

/** A note where the panel was outside the temperatures that the sheet gives times at, or below its least for spraying. */
export function outsideSheetNote({ anchorsC, coversC }: Ladder, coldestC: number, warmestC: number): Note | undefined {
  const from = Math.max(anchorsC[0] as number, coversC.from);
  const to = anchorsC[anchorsC.length - 1] as number;
  if (coldestC >= from && warmestC <= to) return undefined;
  const span = (fromC: number, toC: number): Value =>
    fromC === toC ? { celsius: fromC } : text("span.temperatures", { from: { celsius: fromC }, to: { celsius: toC } });
  const values = { seen: span(coldestC, warmestC), given: span(from, to) };
  return { code: "outside-sheet", text: text("model-note.outside-sheet", values) };
}

export function neverReachedNote(stage: StageName): Note {
  return { code: "stage-never-reached", text: text("model-note.never-reached", { stage: stageText(stage) }) };
}

export function stalledNote(percent: number): Note {
  return { code: "stalled", text: text("model-note.stalled", { percent: Math.floor(percent) }) };
}

export function neverSafeNote(stage: StageName): Note {
  return { code: "stage-never-reached", text: text("model-note.never-safe", { stage: stageText(stage) }) };
}

const stageText = (stage: StageName): Text => text(`stage.${stage}`);
