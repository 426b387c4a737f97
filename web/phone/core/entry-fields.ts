/** The fields of an entry as they are read and put right, whatever it is an entry of. */
import type { Place, SheetView } from "../../../predictor/serve/api.ts";
import type { Words } from "../../../words/words.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";

export interface FieldContext {
  words: Words;
  /** Null until the shop is known: then instants are written as they are. */
  clock: ShopClock | null;
  places: readonly Place[];
  sheets: readonly SheetView[];
  nowMs: number;
}

const instantPattern = /^\d{4}-\d\d-\d\dT\d\d:\d\d/;

export const isInstant = (value: unknown): value is string =>
  typeof value === "string" && instantPattern.test(value) && Number.isFinite(Date.parse(value));

/** What only the programs need. */
const unspoken = ["id", "warning"];

/** Each field with its name and value in words; what holds several is written with commas. */
export function writtenFields(body: object, context: FieldContext): { name: string; text: string }[] {
  return Object.entries(body).flatMap(([field, value]) =>
    unspoken.includes(field) ? [] : [{ name: fieldName(field, context.words), text: written(field, value, context) }],
  );
}

export const fieldName = (field: string, words: Words): string => words.named("field", field);

function written(field: string, value: unknown, context: FieldContext): string {
  const { words, clock, places, sheets, nowMs } = context;
  if (Array.isArray(value)) return value.map((each) => written(field, each, context)).join(", ");
  if (typeof value === "object" && value !== null) {
    return Object.entries(value)
      .map(([name, each]) => written(name, each, context))
      .join(" ");
  }
  if (value === null) return "–";
  if (typeof value === "boolean") return words.t(value ? "field.yes" : "field.no");
  if (typeof value === "number") return words.number(value, Number.isInteger(value) ? 0 : 2);
  const text = String(value);
  if (isInstant(text)) return clock?.when(Date.parse(text), nowMs) ?? text;
  if (field === "place") return places.find(({ id }) => id === text)?.name ?? text;
  if (field === "sheet") return sheets.find(({ id }) => id === text)?.name ?? text;
  switch (field) {
    case "panels":
    case "name":
      return words.named("panel", text);
    case "colour":
      return words.named("colour", text);
    case "component":
      return words.named("component", text);
    case "how":
      return words.named("how", text);
    case "stage":
      return words.named("stage", text);
    case "substrate":
      return words.named("substrate", text);
    default:
      return text;
  }
}

/** A field that can be put right by hand: the others stay as they are. */
export type EditableField =
  | { field: string; kind: "text"; value: string }
  | { field: string; kind: "number"; value: number }
  | { field: string; kind: "instant"; value: string }
  | { field: string; kind: "place" | "sheet"; value: string };

export function editableFields(body: object): EditableField[] {
  return Object.entries(body).flatMap(([field, value]): EditableField[] => {
    if (unspoken.includes(field)) return [];
    if (typeof value === "number") return [{ field, kind: "number", value }];
    if (isInstant(value)) return [{ field, kind: "instant", value }];
    if (typeof value !== "string") return [];
    if (field === "place" || field === "sheet") return [{ field, kind: field, value }];
    return freeTexts.includes(field) ? [{ field, kind: "text", value }] : [];
  });
}

const freeTexts = ["job", "name", "reason", "note", "done", "meaning"];

/** An instant as a date and time field takes it, by the shop's clock: "2026-03-02T10:42". */
export function localOf(iso: string, clock: ShopClock): string {
  const atMs = Date.parse(iso);
  return new Date(atMs + clock.offsetMs(atMs)).toISOString().slice(0, 16);
}

/** And back, as ISO text in UTC; null where the text is no date and time. In the hour that comes twice, the first one. */
export function instantOf(local: string, clock: ShopClock): string | null {
  const asUtcMs = instantPattern.test(local) ? Date.parse(`${local.slice(0, 16)}:00Z`) : Number.NaN;
  if (!Number.isFinite(asUtcMs)) return null;
  // The offset of the instant itself may be another than that of the guess, at a change of the clocks.
  const guessMs = asUtcMs - clock.offsetMs(asUtcMs);
  return new Date(asUtcMs - clock.offsetMs(guessMs)).toISOString();
}
