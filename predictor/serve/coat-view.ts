/** A coat in the words of the API: how far cured, ready for what and when, and what was entered about it. */
import { type Text, text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import type { StageOutcome } from "../cure/climb.ts";
import { sheetWindows } from "../cure/windows.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { lateToday } from "../follow/late-today.ts";
import type { Stay } from "../follow/place-history.ts";
import type { Check, Coat, Correction, Records } from "../records/records.ts";
import type { ShopTime } from "../shop-time.ts";
import { lessonView, type NamedPlaces, placeView } from "./ahead-views.ts";
import type { Band, CheckView, CoatView, CorrectionView, StageView } from "./api.ts";
import { sprayCheckView } from "./work-views.ts";

export interface CoatFactParts {
  shopFile: NamedPlaces;
  records: Pick<Records, "checksOf" | "corrections">;
}

export interface CoatViewParts extends CoatFactParts {
  shopTime: ShopTime;
  now: () => number;
}

/** Of a coat, what is on record and follows from nothing else. */
type CoatFacts = Omit<CoatView, "covered" | "prediction" | "why" | "bands">;

/** Said wherever 'ready' is said. */
export const readyCaution: Text = text("caution.ready");

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

/** One coat, with all that is known of it. */
export function coatView(state: CoatState, parts: CoatViewParts, words: Words): CoatView {
  const { shopFile, shopTime, now } = parts;
  const nowMs = now();
  return {
    ...coatFacts(state, parts, words),
    covered: state.covered,
    prediction: predictionView(state, nowMs, shopTime.workEndsAtMs(nowMs), words),
    why: whyNoPrediction(state, words),
    bands: [...stayBands(state.stays, shopFile), ...gapBands(state, words)],
  };
}

export function coatFacts(
  { coat, car, sheet, place }: Pick<CoatState, "coat" | "car" | "sheet" | "place">,
  { records, shopFile }: CoatFactParts,
  words: Words,
): CoatFacts {
  return {
    id: coat.id,
    carId: car.id,
    job: car.job,
    car: car.name,
    panels: coat.panels,
    substrate: coat.substrate,
    sheet: {
      id: sheet.id,
      revision: sheet.revision,
      name: sheet.name,
      kind: sheet.kind,
      invented: sheet.invented,
      cautions: sheet.cautions,
    },
    place: place === null ? null : placeView(place, shopFile),
    finishedAt: iso(coat.finishedAtMs),
    filmUm: coat.filmUm ?? sheet.film.dryUm,
    checks: records.checksOf(coat.id).map(checkView),
    corrections: records.corrections(coat.id).map(correctionView),
    withdrawn: withdrawalView(coat.withdrawn),
    who: coat.who,
    sprayCheck: coat.sprayCheck && sprayCheckView(coat.sprayCheck),
    batches: coat.batches,
    caution: words.say(readyCaution),
  };
}

function predictionView(
  state: CoatState,
  nowMs: number,
  workEndsAtMs: number | null,
  words: Words,
): CoatView["prediction"] {
  const { outcome, sheet, coat, lastReadingAtMs } = state;
  const { curePercent, equivalentMinutes, panelC } = outcome;
  if (curePercent === null || equivalentMinutes === null || panelC === null || lastReadingAtMs === null) return null;
  const stages = outcome.stages.map((stage) => stageView(stage, nowMs));
  const next = stages.find((stage) => stage.state !== "ready") ?? null;
  const late = lateToday(outcome, nowMs, workEndsAtMs);
  return {
    asOf: iso(outcome.asOfMs),
    curePercent,
    equivalentMinutes,
    panelC,
    panelEstimated: outcome.panelEstimated,
    readingAt: iso(lastReadingAtMs),
    stages,
    windows: sheetWindows(sheet, outcome, coat.finishedAtMs, nowMs).map((window) => ({
      for: window.for,
      opensAt: isoOrNull(window.opensAtMs),
      closesAt: isoOrNull(window.closesAtMs),
      state: window.state,
      ifMissed: window.ifMissed,
    })),
    readyFor: stages.findLast((stage) => stage.state === "ready")?.stage ?? null,
    checkFirst: stages.findLast((stage) => stage.state === "check first")?.stage ?? null,
    next,
    lateToday: late && { state: late.state, workEndsAt: iso(late.workEndsAtMs) },
    lesson: lessonView(state.lesson),
    notes: outcome.notes.map((note) => ({ code: note.code, text: words.say(note.text) })),
  };
}

export function stayBands(stays: readonly Stay[], shopFile: NamedPlaces): Band[] {
  return stays.map(
    (stay): Band => ({
      kind: "place",
      text: shopFile.places[stay.place]?.name ?? stay.place,
      from: iso(stay.fromMs),
      to: stay.toMs === Number.POSITIVE_INFINITY ? null : iso(stay.toMs),
    }),
  );
}

function gapBands({ outcome }: CoatState, words: Words): Band[] {
  return outcome.notes.flatMap((note): Band[] => {
    if (note.code !== "gap" || note.fromMs === undefined || note.toMs === undefined) return [];
    return [
      {
        kind: "gap",
        text: words.t("band.no-reading"),
        from: iso(note.fromMs),
        to: note.toMs >= outcome.asOfMs ? null : iso(note.toMs),
      },
    ];
  });
}

function whyNoPrediction({ isPending, outcome }: CoatState, words: Words): string | null {
  if (outcome.curePercent !== null) return null;
  if (isPending) return words.t("why.reading-history");
  return words.say(outcome.notes[0]?.text ?? text("why.no-reading"));
}

function stageView(stage: StageOutcome, nowMs: number): StageView {
  const isPast = (ms: number | null) => ms !== null && ms <= nowMs;
  return {
    stage: stage.stage,
    curePercent: stage.curePercent,
    state: isPast(stage.safeAtMs) ? "ready" : isPast(stage.likelyAtMs) ? "check first" : "not yet",
    likelyAt: isoOrNull(stage.likelyAtMs),
    safeAt: isoOrNull(stage.safeAtMs),
    isCovered: stage.isCovered,
  };
}

function checkView({ id, stage, atMs, ready, how, who, note, withdrawn }: Check): CheckView {
  return {
    id,
    stage,
    at: iso(atMs),
    ready,
    how,
    who,
    note,
    withdrawn: withdrawalView(withdrawn),
  };
}

function withdrawalView(withdrawn: Coat["withdrawn"]): CoatView["withdrawn"] {
  return withdrawn && { reason: withdrawn.reason, who: withdrawn.who, at: iso(withdrawn.atMs) };
}

const correctedFields = { finishedAtMs: "finishedAt", filmUm: "filmUm", sheetId: "sheet" } as const;

function correctionView({ atMs, who, reason, field, was, became }: Correction): CorrectionView {
  const shown = (value: string | number) => (field === "finishedAtMs" ? iso(Number(value)) : value);
  return {
    at: iso(atMs),
    who,
    reason,
    field: correctedFields[field],
    was: was === null ? null : shown(was),
    became: shown(became),
  };
}

/** When something next happens to a coat: a stage becomes likely or safe, or a window closes. Infinity when nothing will. */
export function nextEventMs(coat: CoatView, nowMs: number): number {
  const { prediction } = coat;
  if (prediction === null) return Number.POSITIVE_INFINITY;
  const instants = [
    ...prediction.stages.flatMap((stage) => [stage.likelyAt, stage.safeAt]),
    ...prediction.windows.filter((window) => window.state !== "missed").map((window) => window.closesAt),
  ];
  const ahead = instants
    .flatMap((instant) => (instant === null ? [] : [Date.parse(instant)]))
    .filter((ms) => ms > nowMs);
  return Math.min(Number.POSITIVE_INFINITY, ...ahead);
}
