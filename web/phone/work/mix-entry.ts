/** From what stands in the fields of the mixing page to the question about amounts, and to the entry of a mix. */
import type { MixQuantity } from "../../../predictor/serve/work-api.ts";

export interface MixChoice {
  /** Null: the first there is. */
  sheetId: string | null;
  panels: readonly string[];
  /** As typed, with a decimal point or comma. */
  areaM2: string;
  byArea: boolean;
  coats: string;
  filmUm: string;
}

/** A figure as typed; undefined where it is none, or not above 0. */
export function typed(figure: string): number | undefined {
  const value = Number(figure.trim().replace(",", "."));
  return value > 0 && Number.isFinite(value) ? value : undefined;
}

/** Null while neither panels nor an area are given. */
export function mixQuestion(sheet: string, choice: MixChoice): object | null {
  const areaM2 = typed(choice.areaM2);
  const coats = typed(choice.coats);
  const filmUm = typed(choice.filmUm);
  if (choice.byArea ? areaM2 === undefined : choice.panels.length === 0) return null;
  return {
    sheet,
    ...(choice.byArea ? { areaM2 } : { panels: choice.panels }),
    ...(coats === undefined ? {} : { coats: Math.round(coats) }),
    ...(filmUm === undefined ? {} : { filmUm }),
  };
}

/** The entry of a mix: the pot's clock runs from `nowMs`, also when it is sent later. */
export function mixBody(
  sheet: string,
  quantity: MixQuantity | null,
  batches: Readonly<Record<string, string>>,
  nowMs: number,
): object {
  const written = (quantity?.components ?? []).flatMap(({ component }) => {
    const batch = batches[component]?.trim() ?? "";
    return batch === "" ? [] : [{ component, batch }];
  });
  return {
    sheet,
    at: new Date(nowMs).toISOString(),
    ...(quantity === null || !(quantity.litres > 0) ? {} : { litres: quantity.litres }),
    ...(written.length === 0 ? {} : { batches: written }),
  };
}
