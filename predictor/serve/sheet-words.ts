/** Sheets in words: what a field is called, what a fault in it means, what two revisions differ in. */
import type { TextKey, Value } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { type Sheet, stageNames } from "../cure/sheet.ts";
import type { FaultLine } from "../faults.ts";

/** What each field takes, said where something else stands in it. Those of numbers come first in the form, too. */
const wants: Partial<Record<string, TextKey>> = {
  id: "sheets.want.id",
  name: "sheets.want.text",
  kind: "sheets.want.short-text",
  "film.dryUm": "sheets.want.above-zero",
  solidsByVolumePercent: "sheets.want.percent",
  filmExponent: "sheets.want.not-negative",
  airSpeedMps: "sheets.want.not-negative",
  activationEnergyKJ: "sheets.want.above-zero",
  humiditySensitivity: "sheets.want.number",
  stages: "sheets.want.stages",
  "stages.stage": "sheets.want.stage",
  "stages.minutesAtC": "sheets.want.minutes",
  "stages.curePercent": "sheets.want.percent",
  "stages.humiditySensitivity": "sheets.want.number",
  "limits.airC": "sheets.want.least-below-most",
  "limits.panelC": "sheets.want.least-below-most",
  "limits.rhPercent": "sheets.want.least-below-most",
  "limits.airC.min": "sheets.want.number",
  "limits.airC.max": "sheets.want.number",
  "limits.panelC.min": "sheets.want.number",
  "limits.panelC.max": "sheets.want.number",
  "limits.rhPercent.min": "sheets.want.number",
  "limits.rhPercent.max": "sheets.want.number",
  windows: "sheets.want.window",
  "windows.for": "sheets.want.text",
  "windows.closesAfterMinutes": "sheets.want.above-zero",
  "windows.atC": "sheets.want.number",
  "windows.ifMissed": "sheets.want.text",
  mix: "sheets.want.mix",
  "mix.component": "sheets.want.short-text",
  "mix.parts": "sheets.want.above-zero",
  usualCoats: "sheets.want.coats",
  squareMetresPerWipe: "sheets.want.above-zero",
  potLifeMinutesAt20C: "sheets.want.above-zero",
  spray: "sheets.want.spray",
  "spray.nozzleMm": "sheets.want.text",
  "spray.inletPressureBar": "sheets.want.spray",
  "spray.inletPressureBar.from": "sheets.want.above-zero",
  "spray.inletPressureBar.to": "sheets.want.above-zero",
  "spray.inletPressureBar.limit": "sheets.want.above-zero",
};

const fieldKeys = new Set<string>([
  ...Object.keys(wants),
  ...["revision", "invented", "stages.by", "kinetics", "windows.opensAt", "windows.closesAt", "mixRatio", "coats"],
  ...["flashBetweenCoats", "cautions"],
]);

/** A path without what is the sheet's own: numbers of rows, names of stages and components, temperatures. */
function patternOf(path: string): string {
  const [first = "", second, ...rest] = path.split(".");
  const isList = ["stages", "windows", "mix", "cautions"].includes(first);
  const parts = isList ? [first, ...rest] : [first, second, ...rest].filter((part) => part !== undefined);
  if (first === "stages" && parts[1] === "minutesAtC") return "stages.minutesAtC";
  if (first === "kinetics") return "kinetics";
  return parts.join(".");
}

/** "unmask: minutes at 20 °C"; a key that no sheet has stays as it is. */
export function fieldName(path: string, words: Words, sheet?: unknown): string {
  const pattern = patternOf(path);
  if (!fieldKeys.has(pattern)) return path;
  const field = words.t(`sheets.field.${pattern}` as TextKey);
  const [first, second, third, ...rest] = path.split(".");
  if (first === "kinetics" && second !== undefined)
    return `${field}: ${[second, third, ...rest].filter(Boolean).join(".")}`;
  if (second === undefined || !(first === "stages" || first === "windows" || first === "mix")) return field;
  const row = rowName(first, second, words, sheet);
  const tempC = Number(rest.length === 0 ? Number.NaN : rest.join("."));
  if (third === "minutesAtC" && Number.isFinite(tempC)) {
    return `${row}: ${words.t("sheets.field.minutes-at", { at: { celsius: tempC } })}`;
  }
  return `${row}: ${field}`;
}

function rowName(list: "stages" | "windows" | "mix", row: string, words: Words, sheet: unknown): string {
  if (!/^\d+$/.test(row)) return list === "stages" ? words.named("stage", row) : row;
  const rows = (sheet as Record<string, unknown> | null | undefined)?.[list];
  const given = Array.isArray(rows) ? (rows[Number(row)] as Record<string, unknown> | undefined) : undefined;
  const name = given?.[{ stages: "stage", windows: "for", mix: "component" }[list]];
  if (typeof name === "string" && name !== "") return list === "stages" ? words.named("stage", name) : name;
  return words.t("sheets.row", { number: Number(row) + 1 });
}

/** What is the matter at a field, as a sentence. */
export function faultText(
  { path, expected, found, text }: Omit<FaultLine, "path"> & { path: string },
  words: Words,
): string {
  if (text !== undefined) return words.say(text);
  const want = wants[patternOf(path)];
  return want === undefined ? words.t("sheets.fault", { expected, found }) : words.t(want);
}

type Leaves = Map<string, string | number | boolean>;

/** Every figure and text of a sheet by where it stands: a stage by its name, a component by its own, so that a new row moves no other. */
function leavesOf(value: unknown, path: string, into: Leaves): Leaves {
  if (typeof value === "string" || typeof value === "number" || typeof value === "boolean") into.set(path, value);
  else if (Array.isArray(value)) {
    for (const [index, each] of value.entries()) {
      const { stage, component } = (each ?? {}) as { stage?: string; component?: string };
      leavesOf(each, `${path}.${stage ?? component?.replaceAll(".", " ") ?? index}`, into);
    }
  } else if (typeof value === "object" && value !== null) {
    for (const [key, each] of Object.entries(value)) leavesOf(each, path === "" ? key : `${path}.${key}`, into);
  }
  return into;
}

/** Rows are known by their names: those are no difference beside what stands in the row. */
const isRowName = /^(stages\.[^.]+\.stage|mix\.[^.]+\.component)$/;

/** What differs between two revisions, in the order of the newer one; null where nothing stood or stands. */
export function changesBetween(
  before: Sheet,
  after: Sheet,
  words: Words,
): { field: string; was: string | null; became: string | null }[] {
  const was = leavesOf(before, "", new Map());
  const became = leavesOf(after, "", new Map());
  const said = (path: string, leaves: Leaves, sheet: Sheet) => {
    const value = leaves.get(path);
    return value === undefined ? null : valueText(path, value, words, sheet);
  };
  return [...new Set([...became.keys(), ...was.keys()])]
    .filter((path) => path !== "revision" && !isRowName.test(path) && was.get(path) !== became.get(path))
    .map((path) => ({
      field: fieldName(path, words, became.has(path) ? after : before),
      was: said(path, was, before),
      became: said(path, became, after),
    }));
}

function valueText(path: string, value: string | number | boolean, words: Words, { invented }: Sheet): string {
  const pattern = patternOf(path);
  if (typeof value === "boolean") return words.t(value && invented ? "field.yes" : "field.no");
  if (typeof value === "number") {
    const isTemperature = /^limits\.(airC|panelC)|^windows\.atC/.test(pattern);
    const figure: Value = isTemperature ? { celsius: value } : value;
    return isTemperature ? words.t("sheets.plain", { value: figure }) : words.t("sheets.figure", { value: figure });
  }
  const isStage = stageNames.some((stage) => stage === value);
  if (isStage && /stage$|opensAt$|closesAt$/.test(pattern)) return words.named("stage", value);
  if (pattern === "windows.opensAt") return words.named("sheets.opens", value);
  if (pattern === "stages.by") return words.named("waits-for", value);
  return pattern === "kind" ? words.named("kind", value) : value;
}
