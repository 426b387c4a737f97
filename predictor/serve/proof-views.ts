/** What came of coats, in the words of the API. */
import type { Words } from "../../words/words.ts";
import type { CoatState } from "../follow/coat-state.ts";
import type { Follow } from "../follow/follow.ts";
import type { BookKeeper } from "../proof/book-keeper.ts";
import type { BookQuery } from "../proof/book-query.ts";
import { type BookRow, bookState } from "../proof/book-row.ts";
import type { CoatFigures } from "../proof/coat-figures.ts";
import { deviationText } from "../proof/deviation-words.ts";
import { entryText } from "../proof/entry-words.ts";
import { notYetReleasable } from "../proof/release.ts";
import { concernsCoat } from "../records/log.ts";
import type { LogEntry, Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import { type NamedPlaces, placeView } from "./ahead-views.ts";
import type { CoatFile, DeviationView, EntryView, FiguresView, LogQuery, LogRow } from "./proof-api.ts";
import type { Views } from "./views.ts";

export interface FileParts {
  records: Records;
  shopFile: NamedPlaces;
  now: () => number;
}

export interface ProofViewParts extends FileParts {
  follow: Follow;
  bookKeeper: BookKeeper;
  shopFile: ShopFile;
  views: Views;
}

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

/** Of a log of one shop, or of several. */
export function bookQuery({
  from,
  to,
  ...query
}: Omit<LogQuery, "sort"> & Pick<BookQuery, "shop" | "sort">): BookQuery {
  return {
    ...query,
    fromMs: from === undefined ? undefined : Date.parse(from),
    toMs: to === undefined ? undefined : Date.parse(to),
  };
}

export function logRow(row: BookRow, shopFile: NamedPlaces, nowMs: number): LogRow {
  const { coat, carId, job, car, panels, who, finishedAtMs, safeAtMs, deviations, figures } = row;
  return {
    ...{ coat, carId, job, car, panels, who, deviations },
    sheet: {
      id: row.sheetId,
      revision: row.sheetRevision,
      name: row.sheetName,
      kind: row.kind,
      invented: row.invented,
    },
    place: placeView(row.place, shopFile),
    finishedAt: iso(finishedAtMs),
    state: bookState(row, nowMs),
    releaseStage: figures.releaseStage,
    safeAt: isoOrNull(safeAtMs),
    airC: figures.airC,
    rhPercent: figures.rhPercent,
  };
}

export async function coatFile(coatId: string, parts: ProofViewParts, words: Words): Promise<CoatFile> {
  const state = await parts.follow.coat(coatId);
  const figures = await parts.bookKeeper.figuresOf(state);
  return { coat: parts.views.coat(state, words), ...fileOf(state, figures, parts, words) };
}

/** What is on record of a coat beside the coat itself, and what follows from its figures. */
export function fileOf(
  { coat, sheet, stays }: Pick<CoatState, "coat" | "sheet" | "stays">,
  figures: CoatFigures,
  parts: FileParts,
  words: Words,
): Omit<CoatFile, "coat"> {
  const { records, now } = parts;
  const coatId = coat.id;
  const nowMs = now();
  const answers = records.deviationAnswers(coatId);
  const checks = records.checksOf(coatId).filter(({ withdrawn }) => withdrawn === null);
  const notYet = notYetReleasable({ coat, figures, checks, answers, nowMs });
  const safeAtMs = figures.stages.find(({ stage }) => stage === figures.releaseStage)?.safeAtMs ?? null;
  const head = records.head();
  return {
    state: bookState({ isWithdrawn: coat.withdrawn !== null, verdict: coat.verdict?.state ?? null, safeAtMs }, nowMs),
    figures: figuresView(figures),
    deviations: deviationViews({ coat, sheet }, figures, answers, words),
    verdict: coat.verdict && {
      state: coat.verdict.state,
      words: coat.verdict.words,
      who: coat.verdict.who,
      role: coat.verdict.role,
      at: iso(coat.verdict.atMs),
    },
    notYet: notYet && words.say(notYet),
    entries: records
      .entriesOf({ carId: coat.carId })
      .filter((entry) => concernsCoat(entry, coatId))
      .map((entry) => entryView(entry, parts, words)),
    warnings: records.warningsAbout(coatId, stays).map(({ text, raisedAtMs, endedAtMs, answer }) => ({
      text: words.say(text),
      from: iso(raisedAtMs),
      to: isoOrNull(endedAtMs),
      answer: answer && { who: answer.who, done: answer.done, at: iso(answer.atMs) },
    })),
    certificates: records.certificatesOf(coatId).map(({ digest, atMs, who, coatIds }) => ({
      digest,
      at: iso(atMs),
      who,
      coats: coatIds.length,
    })),
    head: { seq: head?.seq ?? 0, hash: head?.hash ?? "" },
  };
}

export function entryView(
  entry: LogEntry,
  { records, shopFile }: Pick<FileParts, "records" | "shopFile">,
  words: Words,
): EntryView {
  const placeName = (id: string) => shopFile.places[id]?.name ?? id;
  const { seq, at, clock, who, role, kind, hash } = entry;
  return { seq, at, clock, who, role, kind, text: words.say(entryText(entry, { records, placeName })), hash };
}

function deviationViews(
  of: Pick<CoatState, "coat" | "sheet">,
  figures: CoatFigures,
  answers: ReturnType<Records["deviationAnswers"]>,
  words: Words,
): DeviationView[] {
  return figures.deviations.map((code) => ({
    code,
    text: words.say(deviationText(code, figures, of)),
    answers: answers
      .filter(({ deviation }) => deviation === code)
      .map(({ answer, who, atMs }) => ({ answer, who, at: iso(atMs) })),
  }));
}

function figuresView(figures: CoatFigures): FiguresView {
  return {
    releaseStage: figures.releaseStage,
    until: iso(figures.untilMs),
    isOver: figures.isOver,
    airC: figures.airC,
    panelC: figures.panelC,
    rhPercent: figures.rhPercent,
    dewMarginC: figures.dewMarginC,
    gapMinutes: figures.gapMinutes,
    stages: figures.stages.map(({ stage, likelyAtMs, safeAtMs, readyCheckedAtMs, notYetCheckedAtMs }) => ({
      stage,
      likelyAt: isoOrNull(likelyAtMs),
      safeAt: isoOrNull(safeAtMs),
      readyCheckedAt: isoOrNull(readyCheckedAtMs),
      notYetCheckedAt: isoOrNull(notYetCheckedAtMs),
    })),
    coveredAt: isoOrNull(figures.coveredAtMs),
    waitedMinutes: figures.waitedMinutes,
  };
}
