/** Whether a coat may be released: the rules that stand between a quality lead and the signature. */
import { type Text, text } from "../../words/text.ts";
import type { Check, Coat, DeviationAnswer } from "../records/records.ts";
import type { CoatFigures, DeviationCode } from "./coat-figures.ts";

export interface ReleaseOf {
  coat: Coat;
  figures: CoatFigures;
  /** Those that count. */
  checks: readonly Check[];
  answers: readonly DeviationAnswer[];
  nowMs: number;
}

export function openDeviations(figures: CoatFigures, answers: readonly DeviationAnswer[]): DeviationCode[] {
  return figures.deviations.filter((code) => !answers.some(({ deviation }) => deviation === code));
}

/**
 * Why a coat can't be released, the first reason first; null when it can. Not before its release stage is safe, unless a check found it ready;
 * and every deviation is answered first.
 */
export function notYetReleasable({ coat, figures, checks, answers, nowMs }: ReleaseOf): Text | null {
  const { withdrawn, verdict } = coat;
  if (withdrawn !== null) return text("record-fault.coat-withdrawn", { who: withdrawn.who, reason: withdrawn.reason });
  if (verdict?.state === "held") return text("record-fault.coat-held", { who: verdict.who, reason: verdict.words });
  if (verdict !== null) return text("release.already", { who: verdict.who, at: { dateMs: verdict.atMs } });
  const open = openDeviations(figures, answers);
  if (open.length > 0) {
    return text("release.answer-first", { deviations: open.map((code) => text(`deviation.${code}`)) });
  }
  const { releaseStage, stages } = figures;
  const safeAtMs = stages.find(({ stage }) => stage === releaseStage)?.safeAtMs ?? null;
  if (safeAtMs !== null && safeAtMs <= nowMs) return null;
  if (checks.some(({ stage, ready }) => stage === releaseStage && ready)) return null;
  const stage = text(`stage.${releaseStage}`);
  return safeAtMs === null
    ? text("release.never-safe", { stage })
    : text("release.not-safe", { stage, at: { timeMs: safeAtMs, nowMs } });
}
