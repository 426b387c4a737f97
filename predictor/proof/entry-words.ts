/** An entry of the log in words, for people who read what was recorded. */
import { type Text, text, type Value } from "../../words/text.ts";
import type { LogEntry, Records } from "../records/records.ts";

export interface EntryWordsParts {
  records: Pick<Records, "keptSheets" | "checksOf">;
  placeName: (id: string) => string;
}

export function entryText(entry: LogEntry, { records, placeName }: EntryWordsParts): Text {
  const sheetName = (id: string) => records.keptSheets().findLast(({ sheet }) => sheet.id === id)?.sheet.name ?? id;
  const place = (id: string | null): Value => (id === null ? text("entry-said.left-shop") : placeName(id));
  const promised = (atMs: number | null): Value => (atMs === null ? text("entry-said.no-promise") : { dateMs: atMs });
  const panels = (names: readonly string[]): Value => names.map((name) => ({ prefix: "panel", name }));
  const says = (values?: Text["values"]): Text => text(`entry-said.${entry.kind}`, values);
  switch (entry.kind) {
    case "sheet-kept": {
      const { name, revision } = entry.what.sheet as { name?: unknown; revision: number };
      return says({ name: String(name ?? entry.what.sheet.id), revision });
    }
    case "sheet-approved":
      return says({ name: sheetName(entry.what.sheetId), revision: entry.what.sheetRevision });
    case "car-came":
      return says({
        place: place(entry.what.place),
        at: { dateMs: entry.what.atMs },
        panels: panels(entry.what.panels.map(({ name }) => name)),
      });
    case "panels-added":
      return says({ panels: panels(entry.what.panels.map(({ name }) => name)) });
    case "promised":
      return says({ was: promised(entry.what.was), became: promised(entry.what.became) });
    case "car-moved":
      return entry.what.place === null
        ? text("entry-said.car-left", { at: { dateMs: entry.what.atMs } })
        : says({ place: place(entry.what.place), at: { dateMs: entry.what.atMs } });
    case "move-corrected": {
      const { was, became, reason } = entry.what;
      const move = (of: typeof was): Text =>
        text("entry-said.move", { place: place(of.place), at: { dateMs: of.atMs } });
      return says({ was: move(was), became: move(became), reason });
    }
    case "coats-finished": {
      const { coats, sheetId, sheetRevision, finishedAtMs } = entry.what;
      const names = panels(coats.flatMap((coat) => coat.panels));
      return says({ name: sheetName(sheetId), revision: sheetRevision, at: { dateMs: finishedAtMs }, panels: names });
    }
    case "coat-corrected":
      return says({
        changes: entry.what.changes.map((change) => changeText(change, sheetName)),
        reason: entry.what.reason,
      });
    case "coat-withdrawn":
    case "coat-held":
    case "coat-reopened":
      return says({ reason: entry.what.reason });
    case "coat-checked": {
      const { stage, atMs, ready, how } = entry.what;
      const key = ready ? "entry-said.checked-ready" : "entry-said.checked-not-yet";
      return text(key, { stage: text(`stage.${stage}`), how: text(`how.${how}`), at: { dateMs: atMs } });
    }
    case "check-withdrawn":
      return says({ reason: entry.what.reason });
    case "coat-signed-off":
      return says({ meaning: entry.what.meaning });
    case "deviation-answered":
      return says({ deviation: { prefix: "deviation", name: entry.what.deviation }, answer: entry.what.answer });
    case "certificate-issued":
      return says({ digest: entry.what.digest.slice(0, 12), coats: entry.what.coatIds.length });
    case "mixed":
      return says({ name: sheetName(entry.what.sheetId), at: { dateMs: entry.what.mixedAtMs } });
    case "instrument-set": {
      const { collector, sensor, quantity, slope, offset } = entry.what;
      return says({ sensor: `${collector}/${sensor}`, what: { prefix: "quantity", name: quantity }, slope, offset });
    }
    case "warning-raised":
      return says({ said: entry.what.text });
    case "warning-answered":
      return says({ done: entry.what.done });
    case "warning-set-aside":
      return says({ until: { dateMs: entry.what.untilMs }, reason: entry.what.reason });
    case "person-added":
      return says({ name: entry.what.name, role: { prefix: "role", name: entry.what.role } });
    case "person-changed":
      return says({ name: entry.what.name, change: entry.what.change });
    default:
      return says();
  }
}

type Change = Extract<LogEntry, { kind: "coat-corrected" }>["what"]["changes"][number];

function changeText(change: Change, sheetName: (id: string) => string): Text {
  const said = (value: string | number | null): Value => {
    if (value === null) return text("coat.by-sheet");
    if (change.field === "finishedAtMs") return { dateMs: Number(value) };
    return change.field === "filmUm" ? text("entry-said.film", { um: Number(value) }) : sheetName(String(value));
  };
  const field = change.field === "finishedAtMs" ? "finishedAt" : change.field === "sheetId" ? "sheet" : change.field;
  return text("entry-said.change", {
    field: text(`corrected.${field}`),
    was: said(change.was),
    became: said(change.became),
  });
}
