/** Two coats held against one another: both on one axis of the time since their finish, and their figures side by side. */
import type { ComponentChildren } from "preact";
import type { CoatCourse } from "../../../predictor/serve/api.ts";
import { stageWord } from "../../parts/coat-words.ts";
import { capital, msOf } from "../../parts/shop-clock.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { apiOf, type CoatRef, pageOf, refOf, refText, type ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { deviationName } from "../log/deviation-words.ts";
import { FileStateMark } from "../log/file-state.tsx";
import { CoursePlate } from "./course-plate.tsx";
import { gapWords, outsideWords, spreadFigure, spreads, waitedWords } from "./figures.tsx";
import { sinceFinish, sinceFinishAxis, spanMs, spanWords } from "./file-axis.ts";
import "./file.css";

export function ComparePage() {
  const { search } = useDesk();
  const words = useWords();
  const [first = null, second = null] = (new URLSearchParams(search).get("coats") ?? "").split(",").filter(Boolean);
  const one = useAsked<ShownFile>(fileOf(first));
  const other = useAsked<ShownFile>(fileOf(second));
  const failure = first === null || second === null ? words.t("compare.needs-two") : (one.failure ?? other.failure);
  return (
    <DeskPage title={words.t("compare.title")}>
      {failure !== null ? (
        <div class="desk-notice" role="alert">
          <p>{failure}</p>
          <a class="desk-button" href="/log">
            {words.t("file.to-log")}
          </a>
        </div>
      ) : one.answer === null || other.answer === null ? (
        <p role="status">{words.t("page.looking")}</p>
      ) : (
        <Both files={[one.answer, other.answer]} />
      )}
    </DeskPage>
  );
}

/** So that both charts are in sight at once on a desk's screen. */
const bothHeightPx = 180;

const fileOf = (ref: string | null) => (ref === null ? null : `${apiOf(refOf(ref))}/file`);

const refOfFile = ({ coat, held }: ShownFile): CoatRef => ({ shop: held?.id ?? null, coat: coat.id });

function Both({ files }: { files: readonly ShownFile[] }) {
  const { nowMs } = useDesk();
  const words = useWords();
  const span = Math.max(...files.map((file) => spanMs(file, nowMs)));
  return (
    <>
      <p class="hint">{words.t("compare.axis")}</p>
      {files.map((file) => (
        <One key={refText(refOfFile(file))} file={file} span={span} />
      ))}
      <h2>{words.t("file.figures")}</h2>
      <SideBySide files={files} />
      <p class="caution">{words.t("caution.ready")}</p>
    </>
  );
}

const titleOf = ({ coat, held }: ShownFile) =>
  [coat.car, coat.job, ...(held === undefined ? [] : [held.name])].join(", ");

function One({ file, span }: { file: ShownFile; span: number }) {
  const { clock } = useDesk();
  const words = useWords();
  const { coat } = file;
  const { answer: course } = useAsked<CoatCourse>(`${apiOf(refOfFile(file))}/course`);
  const finishedMs = Date.parse(coat.finishedAt);
  const panels = coat.panels.map((name) => words.named("panel", name)).join(", ");
  return (
    <section class="compared" aria-label={titleOf(file)}>
      <h2>
        <a href={pageOf(refOfFile(file))}>{titleOf(file)}</a>
      </h2>
      <p class="file-what">{`${panels} · ${coat.sheet.name}`}</p>
      <CoursePlate
        file={file}
        course={course}
        scale={(most) => sinceFinishAxis(finishedMs, span, most)}
        clock={sinceFinish(clock, finishedMs)}
        heightPx={bothHeightPx}
      />
    </section>
  );
}

function SideBySide({ files }: { files: readonly ShownFile[] }) {
  const words = useWords();
  const after = ({ coat }: ShownFile, iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? "–" : spanWords(ms - Date.parse(coat.finishedAt), words);
  };
  const stages = [...new Set(files.flatMap(({ figures }) => figures.stages.map(({ stage }) => stage)))];
  const rows: [name: string, of: (file: ShownFile) => ComponentChildren][] = [
    [words.t("log.state"), ({ state }) => <FileStateMark state={state} />],
    [words.t("log.finished"), ({ coat }) => words.dateTime(Date.parse(coat.finishedAt))],
    [words.t("log.who"), ({ coat }) => coat.who],
    [words.t("log.place"), ({ coat }) => coat.place?.name ?? "–"],
    [words.t("log.sheet"), ({ coat }) => coat.sheet.name],
    [words.t("corrected.filmUm"), ({ coat }) => `${words.number(coat.filmUm, 0)} µm`],
    ...spreads.map((name): (typeof rows)[number] => [
      words.t(`file.quantity-${name}`),
      ({ figures }) => {
        const spread = figures[name];
        if (spread === null) return words.t("limit.not-measured");
        const [from, to] = [spreadFigure(name, spread.min, words), spreadFigure(name, spread.max, words)];
        return (
          <>
            {words.t("compare.mean", { value: spreadFigure(name, spread.mean, words) })}{" "}
            <small>{words.t("span.temperatures", { from, to })}</small>
            {spread.minutesOutside !== null && (
              <small>{words.t("compare.outside", { time: outsideWords(spread, words) })}</small>
            )}
          </>
        );
      },
    ]),
    [words.t("file.gap"), ({ figures }) => gapWords(figures, words)],
    ...stages.map((stage): (typeof rows)[number] => [
      capital(stageWord(stage, words)),
      (file) => {
        const found = file.figures.stages.find((each) => each.stage === stage);
        if (found === undefined) return "–";
        return words.t("compare.stage", { likely: after(file, found.likelyAt), safe: after(file, found.safeAt) });
      },
    ]),
    [words.t("file.waited"), ({ figures }) => waitedWords(figures, words)],
    [
      words.t("log.deviations"),
      ({ deviations }) =>
        deviations.length === 0
          ? words.t("log.no-deviation")
          : deviations.map(({ code }) => deviationName(code, words)).join(", "),
    ],
  ];
  return (
    <table class="desk-table compared-figures">
      <thead>
        <tr>
          <td />
          {files.map((file) => (
            <th key={refText(refOfFile(file))} scope="col">
              {titleOf(file)}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {rows.map(([name, of]) => (
          <tr key={name}>
            <th scope="row">{name}</th>
            {files.map((file) => (
              <td key={refText(refOfFile(file))}>{of(file)}</td>
            ))}
          </tr>
        ))}
      </tbody>
    </table>
  );
}
