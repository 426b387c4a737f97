/** A sheet as it is being typed: every field is the text that stands in it, so that nothing typed is lost to a fault. */
import type { SheetView } from "../../../predictor/serve/api.ts";
import type { StageName, WaitsFor } from "../../../predictor/serve/sheet-api.ts";

export interface StageDraft {
  stage: StageName;
  by: WaitsFor;
  /** One for each of the draft's temperatures. */
  minutes: string[];
  curePercent: string;
  humiditySensitivity: string;
}

export interface WindowDraft {
  for: string;
  opensAt: "finish" | StageName;
  closesAfterMinutes: string;
  atC: string;
  closesAt: "" | StageName;
  ifMissed: string;
}

export interface MixDraft {
  component: string;
  parts: string;
}

export interface SheetDraft {
  revision: number;
  invented: boolean;
  /** The fields that stand alone, by their path in the sheet. */
  fields: Partial<Record<string, string>>;
  /** Columns of the table of minutes, in the shop's unit. */
  temperatures: string[];
  stages: StageDraft[];
  windows: WindowDraft[];
  mix: MixDraft[];
  /** A caution a line. */
  cautions: string;
  /** From the laboratory; shown, and not typed here. */
  kinetics: unknown;
  /** What is changed and why: no part of the sheet. */
  reason: string;
}

/** How figures are typed in this shop, by this reader. */
export interface Typed {
  decimal: "." | ",";
  unit: "C" | "F";
}

type Scalar = "text" | "number" | "temperature";
/** Fields that stand alone, in the order of docs/sheets.md. */
export const scalars: Record<string, Scalar> = {
  id: "text",
  name: "text",
  kind: "text",
  "film.dryUm": "number",
  solidsByVolumePercent: "number",
  filmExponent: "number",
  airSpeedMps: "number",
  activationEnergyKJ: "number",
  humiditySensitivity: "number",
  "limits.airC.min": "temperature",
  "limits.airC.max": "temperature",
  "limits.panelC.min": "temperature",
  "limits.panelC.max": "temperature",
  "limits.rhPercent.min": "number",
  "limits.rhPercent.max": "number",
  mixRatio: "text",
  usualCoats: "number",
  squareMetresPerWipe: "number",
  potLifeMinutesAt20C: "number",
  coats: "text",
  flashBetweenCoats: "text",
  "spray.nozzleMm": "text",
  "spray.inletPressureBar.from": "number",
  "spray.inletPressureBar.to": "number",
  "spray.inletPressureBar.limit": "number",
};

export const newStage = (stage: StageName, columns: number): StageDraft => ({
  ...{ stage, by: "reaction", curePercent: "", humiditySensitivity: "" },
  minutes: Array.from({ length: columns }, () => ""),
});
export const newWindow = (): WindowDraft => ({
  ...{ for: "", opensAt: "finish", closesAfterMinutes: "", atC: "", closesAt: "", ifMissed: "" },
});
export const newMix = (): MixDraft => ({ component: "", parts: "" });

/** A new sheet: two temperatures that sheets commonly print, and two stages to begin with. */
export function emptyDraft({ unit }: Pick<Typed, "unit">): SheetDraft {
  const temperatures = unit === "F" ? ["68", "140"] : ["20", "60"];
  return {
    ...{ revision: 1, invented: false, fields: {}, temperatures, windows: [], mix: [], cautions: "", reason: "" },
    stages: [newStage("dust-free", 2), newStage("demask", 2)],
    kinetics: undefined,
  };
}

/** A sheet as it would have been typed. */
export function draftOf(sheet: SheetView, typed: Typed): SheetDraft {
  const keys = [...new Set(sheet.stages.flatMap(({ minutesAtC }) => Object.keys(minutesAtC ?? {})))];
  keys.sort((a, b) => Number(a) - Number(b));
  const figure = (value: number | undefined) => (value === undefined ? "" : textOf(value, typed));
  const degrees = (celsius: number | undefined) =>
    celsius === undefined ? "" : textOf(typed.unit === "F" ? rounded(celsius * 1.8 + 32) : celsius, typed);
  const fields = Object.fromEntries(
    Object.entries(scalars).flatMap(([path, kind]): [string, string][] => {
      const value = at(sheet, path);
      if (typeof value === "string") return [[path, value]];
      if (typeof value !== "number") return [];
      return [[path, kind === "temperature" ? degrees(value) : figure(value)]];
    }),
  );
  return {
    revision: sheet.revision,
    invented: sheet.invented,
    fields,
    temperatures: keys.map((key) => degrees(Number(key))),
    stages: sheet.stages.map(({ stage, by, minutesAtC = {}, curePercent, humiditySensitivity }) => ({
      ...{ stage, by },
      minutes: keys.map((key) => figure(minutesAtC[key])),
      curePercent: figure(curePercent),
      humiditySensitivity: figure(humiditySensitivity),
    })),
    windows: sheet.windows.map((window) => ({
      for: window.for,
      opensAt: window.opensAt,
      closesAfterMinutes: figure(window.closesAfterMinutes),
      atC: degrees(window.atC),
      closesAt: window.closesAt ?? "",
      ifMissed: window.ifMissed,
    })),
    mix: (sheet.mix ?? []).map(({ component, parts }) => ({ component, parts: figure(parts) })),
    cautions: sheet.cautions.join("\n"),
    kinetics: sheet.kinetics,
    reason: "",
  };
}

/** What is typed as a sheet for the server to check: a text that is no figure stays as it is, and is told of there. */
export function sheetOf(draft: SheetDraft, typed: Typed): object {
  const number = (text: string) => numberOf(text, typed.decimal);
  const celsius = (text: string) => celsiusOf(text, typed);
  const sheet: Record<string, unknown> = { revision: draft.revision, invented: draft.invented };
  for (const [path, kind] of Object.entries(scalars)) {
    const text = draft.fields[path]?.trim() ?? "";
    if (text === "") continue;
    put(sheet, path, kind === "text" ? text : kind === "number" ? number(text) : celsius(text));
  }
  const keys = columnKeys(draft, typed);
  const { kinetics, mix, windows } = draft;
  return {
    ...sheet,
    stages: draft.stages.map(({ stage, by, minutes, curePercent, humiditySensitivity }) => {
      const anchors = minutes.flatMap((text, column) =>
        text.trim() === "" ? [] : [[keys[column] ?? "", number(text)] as const],
      );
      return {
        ...{ stage, by },
        ...(anchors.length > 0 ? { minutesAtC: Object.fromEntries(anchors) } : {}),
        ...(curePercent.trim() === "" ? {} : { curePercent: number(curePercent) }),
        ...(humiditySensitivity.trim() === "" ? {} : { humiditySensitivity: number(humiditySensitivity) }),
      };
    }),
    ...(kinetics === undefined ? {} : { kinetics }),
    windows: windows.map(({ opensAt, closesAfterMinutes, atC, closesAt, ...texts }) => ({
      ...given({ for: texts.for.trim() }),
      opensAt,
      ...(closesAfterMinutes.trim() === "" ? {} : { closesAfterMinutes: number(closesAfterMinutes) }),
      ...(atC.trim() === "" ? {} : { atC: celsius(atC) }),
      ...given({ closesAt, ifMissed: texts.ifMissed.trim() }),
    })),
    ...(mix.length === 0
      ? {}
      : {
          mix: mix.map(({ component, parts }) => ({
            ...given({ component: component.trim() }),
            ...(parts.trim() === "" ? {} : { parts: number(parts) }),
          })),
        }),
    cautions: draft.cautions
      .split("\n")
      .map((line) => line.trim())
      .filter((line) => line !== ""),
  };
}

/** The keys of the table's columns in a sheet: °C. A temperature that stands twice keeps both, so that the server can tell. */
export function columnKeys({ temperatures }: Pick<SheetDraft, "temperatures">, typed: Typed): string[] {
  const keys: string[] = [];
  for (const text of temperatures) {
    let key = String(celsiusOf(text, typed));
    while (keys.includes(key)) key += key.includes(".") ? "0" : ".0";
    keys.push(key);
  }
  return keys;
}

function celsiusOf(text: string, { decimal, unit }: Typed): number | string {
  const value = numberOf(text, decimal);
  return typeof value === "number" && unit === "F" ? rounded((value - 32) / 1.8) : value;
}

/** Far finer than any sheet prints; undoes what °F and back leaves in the last places. */
const rounded = (value: number) => Number(value.toFixed(6));

/**
 * The number that a text stands for by the reader's decimal sign; the other sign will do where it can't be one between
 * thousands. The text itself where it is no number.
 */
export function numberOf(text: string, decimal: Typed["decimal"]): number | string {
  const trimmed = text.trim().replace("−", "-");
  const other = decimal === "." ? "," : ".";
  const isThousands = new RegExp(`^-?\\d{1,3}(\\${other}\\d{3})+(\\${decimal}\\d*)?$`).test(trimmed);
  const plain = trimmed.replace(",", ".");
  return !isThousands && /^-?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : trimmed;
}

const textOf = (value: number, { decimal }: Typed) => String(value).replace(".", decimal);

/** A short name made of a name: "Mein Klarlack 2" is "mein-klarlack-2". */
export function idOf(name: string): string {
  return name
    .toLowerCase()
    .replaceAll("ä", "ae")
    .replaceAll("ö", "oe")
    .replaceAll("ü", "ue")
    .replaceAll("ß", "ss")
    .normalize("NFD")
    .replaceAll(/[^a-z0-9]+/g, (gap) => (/^\p{M}+$/u.test(gap) ? "" : "-"))
    .replaceAll(/^-+|-+$/g, "")
    .slice(0, 40);
}

function at(value: unknown, path: string): unknown {
  return path.split(".").reduce<unknown>((inner, key) => (inner as Record<string, unknown> | undefined)?.[key], value);
}

function put(into: Record<string, unknown>, path: string, value: unknown): void {
  const keys = path.split(".");
  const last = keys.pop() ?? "";
  let inner = into;
  for (const key of keys) {
    inner[key] ??= {};
    inner = inner[key] as Record<string, unknown>;
  }
  inner[last] = value;
}

function given(texts: Record<string, string>): Record<string, string> {
  return Object.fromEntries(Object.entries(texts).filter(([, text]) => text !== ""));
}
