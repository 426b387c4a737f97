/** How much to mix: from area and film to litres of each component. Spreading rate by MIL-HDBK-1110 (UFC 3-190-06), 2.1.5. */
import { type Text, text } from "../../words/text.ts";
import { spreadingRateM2PerL } from "../cure/film.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { SiteSettings } from "../shop-site.ts";
import { knownPanels } from "./panels.ts";

export interface MixQuestion {
  sheet: Pick<Sheet, "id" | "film" | "mix" | "usualCoats" | "solidsByVolumePercent" | "squareMetresPerWipe">;
  /** Names the outline knows; or an area. */
  panels?: readonly string[] | undefined;
  areaM2?: number | undefined;
  /** The sheet's usual number when absent. */
  coats?: number | undefined;
  /** Dry, of all coats together; the sheet's film for its usual coats, and in proportion for others, when absent. */
  filmUm?: number | undefined;
}

export interface MixAmounts {
  areaM2: number;
  coats: number;
  dryFilmUm: number;
  /** Ready to spray; 0 for what is wiped on. */
  litres: number;
  components: { component: string; litres: number }[];
  /** The smallest of the site's pots that holds it; null when none does, or nothing is poured. */
  potLitres: number | null;
  wipes: number | null;
  assumptions: Text[];
}

/** Assumed until the site has measured its own; see docs/mixing.md. */
export const assumedTransferEfficiencyPercent = 60;
export const assumedWasteLitres = 0.05;
const assumedPotLitres = [0.1, 0.2, 0.4, 0.6, 0.8, 1, 2, 4];
/** These bring no film of their own. */
const isThinner = (component: string) => component === "thinner" || component === "water";

/** The amounts, or why there are none: what the sheet lacks, or a panel whose area is not known. */
export function mixQuantity(question: MixQuestion, site: SiteSettings): MixAmounts | { refusal: Text } {
  const { sheet } = question;
  const area = areaOf(question);
  if ("refusal" in area) return area;
  const usualCoats = sheet.usualCoats ?? 1;
  const coats = question.coats ?? usualCoats;
  const dryFilmUm = question.filmUm ?? (sheet.film.dryUm * coats) / usualCoats;
  const known = { areaM2: area.areaM2, coats, dryFilmUm };
  if (sheet.squareMetresPerWipe !== undefined) {
    return {
      ...known,
      litres: 0,
      components: [],
      potLitres: null,
      wipes: Math.ceil(round(area.areaM2 / sheet.squareMetresPerWipe)),
      assumptions: [...area.assumptions, text("mixing.wipe-covers", { area: sheet.squareMetresPerWipe })],
    };
  }
  const { mix, solidsByVolumePercent } = sheet;
  if (mix === undefined) return { refusal: text("mixing.no-mix", { sheet: sheet.id }) };
  if (solidsByVolumePercent === undefined) return { refusal: text("mixing.no-solids", { sheet: sheet.id }) };
  const allParts = sum(mix.map(({ parts }) => parts));
  const solidParts = sum(mix.filter(({ component }) => !isThinner(component)).map(({ parts }) => parts));
  if (!(solidParts > 0)) return { refusal: text("mixing.only-thinner", { sheet: sheet.id }) };

  const transferPercent = site.transferEfficiencyPercent ?? assumedTransferEfficiencyPercent;
  const wasteLitres = site.wasteLitres ?? assumedWasteLitres;
  // Thinned, a litre holds fewer solids.
  const readySolidsPercent = (solidsByVolumePercent * solidParts) / allParts;
  const onPanelLitres = area.areaM2 / spreadingRateM2PerL(readySolidsPercent, dryFilmUm);
  const litres = onPanelLitres / (transferPercent / 100) + wasteLitres;
  return {
    ...known,
    litres,
    components: mix.map(({ component, parts }) => ({ component, litres: (litres * parts) / allParts })),
    potLitres: [...(site.potLitres ?? assumedPotLitres)].sort((a, b) => a - b).find((pot) => pot >= litres) ?? null,
    wipes: null,
    assumptions: [
      ...area.assumptions,
      text("mixing.assume-film", { film: Math.round(dryFilmUm), coats }),
      text("mixing.assume-solids", { percent: solidsByVolumePercent }),
      text(site.transferEfficiencyPercent === undefined ? "mixing.assume-transfer" : "mixing.known-transfer", {
        percent: transferPercent,
      }),
      text(site.wasteLitres === undefined ? "mixing.assume-waste" : "mixing.known-waste", { litres: wasteLitres }),
    ],
  };
}

function areaOf({ panels, areaM2 }: MixQuestion): { areaM2: number; assumptions: Text[] } | { refusal: Text } {
  if (areaM2 !== undefined) return { areaM2, assumptions: [] };
  const names = new Set(panels);
  if (names.size === 0) return { refusal: text("mixing.no-panels") };
  let together = 0;
  for (const name of names) {
    const panel = knownPanels.find((each) => each.name === name);
    if (panel === undefined) return { refusal: text("mixing.unknown-panel", { panel: name }) };
    together += panel.areaM2;
  }
  return { areaM2: together, assumptions: [text("mixing.assume-areas", { area: together })] };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

/** 0.3 / 0.1 is 3 wipes, not 4. */
function round(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}
