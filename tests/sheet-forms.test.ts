/** A sheet keeps what it says on its way through the form, the API's JSON and a YAML file, in both units and languages. */
import { describe, expect, it } from "vitest";
import { readSheet } from "../predictor/cure/ladder.ts";
import type { Sheet } from "../predictor/cure/sheet.ts";
import { inventedSheets, readSheetText, sheetText } from "../predictor/records/library.ts";
import { draftOf, emptyDraft, idOf, numberOf, sheetOf, type Typed } from "../web/desk/sheets/draft.ts";

const kinetic = {
  ...{ id: "lab", revision: 3, name: "Lab: clear, # 2", kind: "clearcoat", film: { dryUm: 50.5 }, filmExponent: 0 },
  stages: [{ stage: "demask", curePercent: 45 }],
  kinetics: {
    ...{ model: "nth-order", reaction: { preExponentialPerSecond: 5e7, activationEnergyKJ: 70 }, order: 1.4 },
    validC: { min: 10, max: 60 },
  },
};
const odd = {
  ...{ id: "odd", revision: 1, name: "Ödd", kind: "surfacer", film: { dryUm: 90 }, humiditySensitivity: -0.05 },
  stages: [
    { stage: "sand", minutesAtC: { "-5": 900, "12.5": 44, "21.3": 22.25 }, by: "moisture", humiditySensitivity: 0 },
  ],
  limits: { airC: { min: -2.5 }, rhPercent: { max: 80 } },
  windows: [
    { for: "next", opensAt: "sand", closesAfterMinutes: 480, atC: 21.3, ifMissed: "sand: again" },
    { for: "same", closesAt: "full-cure", ifMissed: "yes" },
  ],
  cautions: ["'quoted' and - dashed", "second: line"],
};
const read = (input: unknown): Sheet => {
  const found = readSheet(input);
  if ("faults" in found) throw new Error(JSON.stringify(found.faults));
  return found.sheet;
};
const sheets = [...inventedSheets(), read(kinetic), read(odd)];
const ways: [string, Typed][] = [
  ["°C", { decimal: ".", unit: "C" }],
  ["°C with a decimal comma", { decimal: ",", unit: "C" }],
  ["°F", { decimal: ".", unit: "F" }],
];

describe.each(ways)("through the form in %s", (_, typed) => {
  it.each(sheets.map((sheet) => [sheet.id, sheet] as const))("%s stays as it is", (_id, sheet) => {
    const draft = draftOf(sheet, typed);
    const typedIn = read(JSON.parse(JSON.stringify(sheetOf(draft, typed))));
    expect(typedIn).toEqual(sheet);
    const [fromFile] = readSheetText(sheetText([typedIn]), "yaml");
    expect(fromFile).toEqual(sheet);
    expect(draftOf(fromFile as Sheet, typed)).toEqual(draft);
  });
});

describe("what is typed", () => {
  it("is a number by the reader's decimal sign, and stays a text where it could be two numbers", () => {
    expect(numberOf(" 2.5 ", ".")).toBe(2.5);
    expect(numberOf("2,5", ",")).toBe(2.5);
    expect(numberOf("2,5", ".")).toBe(2.5);
    expect(numberOf("−3", ".")).toBe(-3);
    expect(numberOf("5e7", ".")).toBe(5e7);
    expect(numberOf("10,080", ".")).toBe("10,080");
    expect(numberOf("10.080", ",")).toBe("10.080");
    expect(numberOf("10.080", ".")).toBe(10.08);
    for (const text of ["9 min", "0x10", "1.2.3", "Infinity", "--1"]) expect(numberOf(text, ".")).toBe(text);
  });

  it("goes to the server with its faults: no figure is dropped, and a temperature that stands twice is told of", () => {
    const draft = emptyDraft({ unit: "C" });
    draft.fields = { id: "x", name: "X", kind: "sealer", "film.dryUm": "thick" };
    draft.temperatures = ["20", "20"];
    draft.stages = draft.stages.slice(0, 1).map((stage) => ({ ...stage, minutes: ["9", "8"] }));
    const typed: Typed = { decimal: ".", unit: "C" };
    const faultsOf = () => {
      const found = readSheet(sheetOf(draft, typed));
      return "faults" in found ? found.faults.map(({ path, found: given }) => [path, given]) : [];
    };
    expect(faultsOf()).toEqual([["film.dryUm", '"thick"']]);
    draft.fields["film.dryUm"] = "50";
    expect(faultsOf()).toEqual([["stages.0.minutesAtC", "20 °C twice"]]);
  });

  it("gives a short name", () => {
    expect(idOf("Mein Klarlack, schnell (2K)")).toBe("mein-klarlack-schnell-2k");
    expect(idOf("Füller Größe é")).toBe("fueller-groesse-e");
    expect(idOf("???")).toBe("");
  });
});
