import { describe, expect, it } from "vitest";
import type { CoatView, SheetView } from "../../../predictor/serve/api.ts";
import { exampleCoat, exampleStage } from "../../parts/example-coat.ts";
import { proposedPanels, proposedSheets, proposedStage } from "./proposals.ts";

const example = (): CoatView =>
  exampleCoat("1", [exampleStage("dust-free", "ready", 5, 6), exampleStage("demask", "not yet", 30, 40)]);
const coat = (part: Partial<CoatView>): CoatView => ({ ...example(), ...part });
const sheet = (id: string, kind: string) => ({ id, kind, name: id }) as SheetView;
const of = (id: string, kind: string): CoatView["sheet"] => ({ ...example().sheet, id, kind });
const sheets = [
  sheet("clear", "clearcoat"),
  sheet("base", "basecoat"),
  sheet("other-base", "basecoat"),
  sheet("surfacer", "surfacer"),
  sheet("wax", "cavity wax"),
];
const panels = [
  { name: "door", substrate: "steel" as const },
  { name: "bonnet", substrate: "steel" as const },
];

describe("the panels that are proposed", () => {
  it("are those of the newest coat, and all while there is none", () => {
    const older = coat({ panels: ["bonnet"], finishedAt: "2026-03-02T08:00:00Z" });
    const newer = coat({ panels: ["door"], finishedAt: "2026-03-02T09:00:00Z" });
    expect(proposedPanels({ panels, coats: [newer, older] })).toEqual(["door"]);
    expect(proposedPanels({ panels, coats: [] })).toEqual(["door", "bonnet"]);
  });
});

describe("the sheets that are proposed", () => {
  const ids = (coats: CoatView[], chosen = ["door"], shop: CoatView[] = []) =>
    proposedSheets(sheets, { coats }, chosen, { cars: [{ coats: shop }] } as never).map(({ id }) => id);

  it("begin with what follows the coat on these panels, in the order of the trade", () => {
    const surfaced = coat({ panels: ["door"], sheet: of("surfacer", "surfacer") });
    expect(ids([surfaced])).toEqual(["base", "other-base", "clear", "surfacer", "wax"]);
    expect(ids([surfaced], ["bonnet"])[0]).toBe("surfacer");
    expect(ids([coat({ panels: ["door"], sheet: of("base", "basecoat") })])[0]).toBe("clear");
  });

  it("put what the shop sprayed last before its like", () => {
    const recent = coat({ sheet: of("other-base", "basecoat"), finishedAt: "2026-03-02T09:00:00Z" });
    const surfaced = coat({ panels: ["door"], sheet: of("surfacer", "surfacer") });
    expect(ids([surfaced], ["door"], [recent]).slice(0, 2)).toEqual(["other-base", "base"]);
  });
});

describe("the stage that is proposed for a check", () => {
  it("is the next one, never full cure, and none without a prediction", () => {
    expect(proposedStage(example())).toBe("demask");
    expect(proposedStage(coat({ prediction: null }))).toBeNull();
    const { prediction } = example();
    const cured = { ...prediction, next: { ...prediction?.next, stage: "full-cure" } } as CoatView["prediction"];
    expect(proposedStage(coat({ prediction: cured }))).not.toBe("full-cure");
  });
});
