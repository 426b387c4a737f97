/** What a person should know about a prediction, in words of the shop. */
import type { Note } from "./climb.ts";
import type { Ladder } from "./ladder.ts";

/** 20.04 → "20.0 °C". */
export function celsius(tempC: number): string {
  return `${tempC.toFixed(1)} °C`;
}

function duration(fromMs: number, toMs: number): string {
  const minutes = Math.round((toMs - fromMs) / 60_000);
  return minutes < 120 ? `${minutes} min` : `${(minutes / 60).toFixed(1)} h`;
}

export function gapNote(fromMs: number, toMs: number, heldPanelC: number): Note {
  const text = `No readings for ${duration(fromMs, toMs)}. The colder end, ${celsius(heldPanelC)}, is taken for all of it.`;
  return { code: "gap", text, fromMs, toMs };
}

export function staleNote(fromMs: number, toMs: number): Note {
  const text = `No readings for ${duration(fromMs, toMs)}. The last ones are taken to hold.`;
  return { code: "gap", text, fromMs, toMs };
}

export function heldBackNote(finishedAtMs: number, firstReadingMs: number): Note {
  const text = `The first reading came ${duration(finishedAtMs, firstReadingMs)} after the finish and is taken to hold from the finish.`;
  return { code: "held-back-to-finish", text, fromMs: finishedAtMs, toMs: firstReadingMs };
}

export function noReadingsNote(): Note {
  return { code: "no-readings", text: "No prediction: there is no reading at the finish or in the 10 min after it." };
}

export function estimatedNote(): Note {
  return {
    code: "panel-estimated",
    text: "The panel's temperature was not measured all the time; it is estimated from what surrounds it.",
  };
}

/** A note where the panel was outside the temperatures that the sheet gives times at, or below its least for spraying. */
export function outsideSheetNote({ anchorsC, coversC }: Ladder, coldestC: number, warmestC: number): Note | undefined {
  const from = Math.max(anchorsC[0] as number, coversC.from);
  const to = anchorsC[anchorsC.length - 1] as number;
  if (coldestC >= from && warmestC <= to) return undefined;
  const seen = coldestC === warmestC ? celsius(coldestC) : `${celsius(coldestC)} to ${celsius(warmestC)}`;
  const given = from === to ? `at ${from} °C only` : `from ${from} to ${to} °C`;
  return {
    code: "outside-sheet",
    text: `The panel was at ${seen}; the sheet holds ${given}. Beyond that its times are carried on.`,
  };
}

export function neverReachedNote(stage: string): Note {
  return { code: "stage-never-reached", text: `As things stand, ${stage} will never be reached.` };
}

export function stalledNote(percent: number): Note {
  return { code: "stalled", text: `It stops at ${Math.floor(percent)} % until it is warmer.` };
}

export function neverSafeNote(stage: string): Note {
  const text = `No safe time for ${stage}: were the panel just a little colder, it would take many times as long or never be reached.`;
  return { code: "stage-never-reached", text };
}
