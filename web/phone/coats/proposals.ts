/** What a page proposes before anyone has tapped: which panels, which sheet, which check. */
import type { Cars, CarView, CoatView, SheetView, StageView } from "../../../predictor/serve/api.ts";

/** In the order in which they are sprayed, in the trade's words. */
const kinds = ["pre-treatment", "surfacer", "sealer", "basecoat", "clearcoat"];

/** The panels of the coat that was finished last; all of the car while it has none. */
export function proposedPanels(car: Pick<CarView, "panels" | "coats">): string[] {
  const last = newest(car.coats);
  return last === undefined ? car.panels.map(({ name }) => name) : [...last.panels];
}

/**
 * The sheets, the likeliest first: what follows the newest coat on these panels, then the same again, then the rest; among
 * them what the shop has sprayed last.
 */
export function proposedSheets(
  sheets: readonly SheetView[],
  car: Pick<CarView, "coats">,
  panels: readonly string[],
  cars: Pick<Cars, "cars"> | null,
): SheetView[] {
  const under = newest(car.coats.filter((coat) => coat.panels.some((panel) => panels.includes(panel))));
  const last = under === undefined ? -1 : kinds.indexOf(under.sheet.kind);
  const distance = ({ kind }: SheetView): number => {
    const at = kinds.indexOf(kind);
    if (at === -1) return kinds.length + 1;
    return at > last ? at - last : kinds.length + last - at;
  };
  const usedAt = new Map<string, number>();
  for (const coat of cars?.cars.flatMap(({ coats }) => coats) ?? []) {
    usedAt.set(coat.sheet.id, Math.max(usedAt.get(coat.sheet.id) ?? 0, Date.parse(coat.finishedAt)));
  }
  return [...sheets].sort(
    (a, b) =>
      distance(a) - distance(b) || (usedAt.get(b.id) ?? 0) - (usedAt.get(a.id) ?? 0) || a.name.localeCompare(b.name),
  );
}

/** The stage that a hand would try now: the first that is not surely reached, else the last one. */
export function proposedStage({ prediction }: CoatView): StageView["stage"] | null {
  if (prediction === null) return null;
  const { next, stages } = prediction;
  if (next !== null && next.stage !== "full-cure") return next.stage;
  return stages.filter(({ stage }) => stage !== "full-cure").at(-1)?.stage ?? null;
}

function newest(coats: readonly CoatView[]): CoatView | undefined {
  return [...coats].sort((a, b) => Date.parse(b.finishedAt) - Date.parse(a.finishedAt))[0];
}
