/** How well the predictions hold, in the words of the API. */
import { text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { bakedFromC } from "../proof/bake-saved.ts";
import { type Bracket, isTold } from "../proof/brackets.ts";
import { fewestChecks } from "../proof/calibration.ts";
import { fewestForLimits } from "../proof/control-chart.ts";
import { type Agreement, fewestBrackets, type Predictions, type SheetPredictions } from "../proof/predictions.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import { type NamedPlaces, placeView } from "./ahead-views.ts";
import type { AgreementView, PairView, PredictionsView, SheetPredictionsView } from "./prediction-api.ts";

export interface PredictionViewParts {
  shopFile: NamedPlaces & Pick<ShopFile, "energy">;
  records: Records;
  words: Words;
  fromMs: number;
  toMs: number;
}

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));
const finiteOrNull = (value: number | null): number | null => (Number.isFinite(value) ? value : null);

export function predictionsView(
  { sheets, calibration, span, energy }: Predictions,
  { shopFile, records, words, fromMs, toMs }: PredictionViewParts,
): PredictionsView {
  const nameOf = (sheetId: string, revision: number) => sheetName(records.sheet(sheetId, revision));
  const placeOf = (place: string | null) => (place === null ? null : placeView(place, shopFile));
  const settings = shopFile.energy;
  return {
    from: iso(fromMs),
    to: iso(toMs),
    choices: {
      sheets: records.sheets().map(({ id, name }) => ({ id, name })),
      places: Object.keys(shopFile.places).flatMap((place) => placeView(place, shopFile) ?? []),
    },
    fewest: { brackets: fewestBrackets, checks: fewestChecks, limits: fewestForLimits },
    sheets: sheets.map((each) => sheetView(each, placeOf)),
    calibration,
    span: {
      all: span.all,
      rows: span.rows.map(({ sheetId, sheetRevision, place, ...figures }) => ({
        ...figures,
        sheet: nameOf(sheetId, sheetRevision),
        place: placeOf(place),
      })),
    },
    energy:
      energy === null || settings === undefined
        ? null
        : { ...energy, currency: settings.currency, assumptions: assumptionsOf(settings, words) },
  };
}

const sheetName = ({ id, revision, name, invented }: SheetPredictions["sheet"]) => ({ id, revision, name, invented });

type PlaceOf = (place: string | null) => ReturnType<typeof placeView>;

function sheetView(
  { sheet, brackets, control, learned, ...each }: SheetPredictions,
  placeOf: PlaceOf,
): SheetPredictionsView {
  return {
    sheet: sheetName(sheet),
    isLearningOff: each.isLearningOff,
    pairs: brackets.map((bracket) => pairView(bracket, placeOf)),
    agreements: each.agreements.map((agreement) => agreementView(agreement, placeOf)),
    learned: learned.map(({ atMs, ...point }) => ({ at: iso(atMs), ...point })),
    control: {
      limits: control.limits,
      points: control.points.map(({ coatId, atMs, value, ...point }) => ({
        coat: coatId,
        at: iso(atMs),
        middle: value,
        ...point,
      })),
    },
  };
}

function pairView(bracket: Bracket, placeOf: PlaceOf): PairView {
  const { coatId, place, stage, kind, notYetAtMs, readyAtMs, told, lnLow, lnHigh } = bracket;
  return {
    coat: coatId,
    place: placeOf(place),
    stage,
    kind,
    notYetAt: isoOrNull(notYetAtMs),
    readyAt: isoOrNull(readyAtMs),
    toldLikelyAt: isoOrNull(told?.likelyAtMs ?? null),
    toldSafeAt: isoOrNull(told?.safeAtMs ?? null),
    lnLow: finiteOrNull(lnLow),
    lnHigh: finiteOrNull(lnHigh),
    isTold: isTold(bracket),
  };
}

function agreementView({ place, counts, untold, fit }: Agreement, placeOf: PlaceOf): AgreementView {
  return {
    place: placeOf(place),
    between: counts.between,
    readyOnly: counts["ready-only"],
    notYetOnly: counts["not-yet-only"],
    untold,
    fit: fit && {
      ratio: Math.exp(fit.mean),
      ratioLow: Math.exp(fit.low),
      ratioHigh: Math.exp(fit.high),
      sigma: fit.sigma,
    },
  };
}

function assumptionsOf(
  { conventionalBake, heat, electricity }: NonNullable<ShopFile["energy"]>,
  words: Words,
): string[] {
  const { bakeC, minutes } = conventionalBake;
  return [
    text("predictions.assumes-bake", { bake: { celsius: bakeC }, minutes }),
    text("predictions.assumes-one-bake"),
    text("predictions.assumes-air", { limit: { celsius: bakedFromC } }),
    text("predictions.assumes-flash-off"),
    text("predictions.assumes-not-counted"),
    text("predictions.assumes-heat", { source: heat.source, year: String(heat.year) }),
    text("predictions.assumes-electricity", { source: electricity.source, year: String(electricity.year) }),
  ].map(words.say);
}
