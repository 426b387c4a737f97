/** The figures of one coat, or of two side by side. */
import type { FiguresView, SpreadView } from "../../../predictor/serve/proof-api.ts";
import type { Words } from "../../../words/words.ts";
import { dashed, stageWord, windowName } from "../../parts/coat-words.ts";
import { StateShape } from "../../parts/shapes.tsx";
import { capital, msOf } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import type { ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { spanWords } from "./file-axis.ts";

export const spreads = ["airC", "panelC", "rhPercent", "dewMarginC"] as const;
type SpreadName = (typeof spreads)[number];

export function spreadFigure(name: SpreadName, value: number, words: Words): string {
  if (name === "rhPercent") return `${words.number(value, 0)} %`;
  return name === "dewMarginC" ? words.difference(value) : words.temperature(value);
}

const minutesWords = (minutes: number | null, words: Words) =>
  minutes === null ? "–" : spanWords(minutes * 60_000, words);

/** Without a bound on the sheet nothing is outside of it. */
export const outsideWords = (spread: SpreadView, words: Words) =>
  spread.minutesOutside === null ? words.t("limit.no-bound") : minutesWords(spread.minutesOutside, words);

export function gapWords({ gapMinutes }: FiguresView, words: Words): string {
  return gapMinutes === 0 ? words.t("file.no-gap") : minutesWords(gapMinutes, words);
}

export const waitedWords = ({ waitedMinutes }: FiguresView, words: Words) => minutesWords(waitedMinutes, words);

/** What ended the time that counts. */
function endOf({ isOver, until, coveredAt, releaseStage, stages }: FiguresView): "now" | "safe" | "covered" | "left" {
  if (!isOver) return "now";
  if (stages.find(({ stage }) => stage === releaseStage)?.safeAt === until) return "safe";
  return coveredAt === until ? "covered" : "left";
}

export function Figures({ file }: { file: ShownFile }) {
  const { clock, nowMs } = useDesk();
  const words = useWords();
  const { figures, coat } = file;
  const until = clock.whenAfter(Date.parse(coat.finishedAt), Date.parse(figures.until), nowMs);
  return (
    <section>
      <h2>{words.t("file.figures")}</h2>
      <p class="hint">
        {words.t(`file.until-${endOf(figures)}`, { time: until, stage: stageWord(figures.releaseStage, words) })}
      </p>
      <table class="desk-table file-figures">
        <thead>
          <tr>
            <td />
            <th scope="col">{words.t("file.least")}</th>
            <th scope="col">{words.t("file.mean")}</th>
            <th scope="col">{words.t("file.most")}</th>
            <th scope="col">{words.t("file.outside")}</th>
          </tr>
        </thead>
        <tbody>
          {spreads.map((name) => {
            const spread = figures[name];
            return (
              <tr key={name}>
                <th scope="row">{words.t(`file.quantity-${name}`)}</th>
                {spread === null ? (
                  <td colSpan={4}>{words.t("limit.not-measured")}</td>
                ) : (
                  <>
                    <td>{spreadFigure(name, spread.min, words)}</td>
                    <td>{spreadFigure(name, spread.mean, words)}</td>
                    <td>{spreadFigure(name, spread.max, words)}</td>
                    <td class={(spread.minutesOutside ?? 0) > 0 ? "is-outside" : undefined}>
                      {outsideWords(spread, words)}
                    </td>
                  </>
                )}
              </tr>
            );
          })}
        </tbody>
      </table>
      <dl class="file-facts">
        <dt>{words.t("file.gap")}</dt>
        <dd class={figures.gapMinutes > 0 ? "is-outside" : undefined}>{gapWords(figures, words)}</dd>
        <dt>{words.t("file.waited")}</dt>
        <dd>{waitedWords(figures, words)}</dd>
        {figures.coveredAt !== null && (
          <>
            <dt>{words.t("file.covered")}</dt>
            <dd>{words.when(Date.parse(figures.coveredAt), nowMs)}</dd>
          </>
        )}
        <dt>{words.t("corrected.filmUm")}</dt>
        <dd>{`${words.number(coat.filmUm, 0)} µm`}</dd>
      </dl>
    </section>
  );
}

export function FileStages({ file }: { file: ShownFile }) {
  const { clock, nowMs } = useDesk();
  const words = useWords();
  const { coat, figures } = file;
  const finishedMs = Date.parse(coat.finishedAt);
  const at = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? "–" : clock.whenAfter(finishedMs, ms, nowMs);
  };
  const state = (stage: string) => coat.prediction?.stages.find((each) => each.stage === stage)?.state ?? "unknown";
  return (
    <section>
      <h2>{words.t("coat.stages")}</h2>
      <p class="hint">{words.t("file.known-now")}</p>
      <table class="desk-table">
        <thead>
          <tr>
            <th scope="col">{words.t("coat.stage")}</th>
            <th scope="col">{words.t("time.likely")}</th>
            <th scope="col">{words.t("time.safe")}</th>
            <th scope="col">{words.t("file.checked")}</th>
          </tr>
        </thead>
        <tbody>
          {figures.stages.map(({ stage, likelyAt, safeAt, readyCheckedAt, notYetCheckedAt }) => (
            <tr key={stage}>
              <th scope="row" class="file-stage">
                <StateShape mark={state(stage)} /> {capital(stageWord(stage, words))}
                {stage === figures.releaseStage && <small>{words.t("file.release-stage")}</small>}
              </th>
              <td>{at(likelyAt)}</td>
              <td>{at(safeAt)}</td>
              <td>
                {notYetCheckedAt !== null && (
                  <div>{words.t("file.checked-not-yet", { time: at(notYetCheckedAt) })}</div>
                )}
                {readyCheckedAt !== null && <div>{words.t("file.checked-ready", { time: at(readyCheckedAt) })}</div>}
                {notYetCheckedAt === null && readyCheckedAt === null && "–"}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <Windows file={file} />
    </section>
  );
}

function Windows({ file }: { file: ShownFile }) {
  const { clock, nowMs } = useDesk();
  const words = useWords();
  const { coat } = file;
  const at = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? words.t("time.unknown") : clock.whenAfter(Date.parse(coat.finishedAt), ms, nowMs);
  };
  return (
    <ul class="file-windows">
      {(coat.prediction?.windows ?? []).map((window) => (
        <li key={window.for} class={window.state === "missed" ? "is-outside" : undefined}>
          {capital(
            words.t("rail.window", {
              what: windowName(window, words),
              state: words.t(`gate.state-${dashed(window.state)}`),
              from: at(window.opensAt),
              to: at(window.closesAt),
            }),
          )}
        </li>
      ))}
    </ul>
  );
}
