/** One coat's file: all that a quality lead looks at before releasing it. */

import { useRef } from "preact/hooks";
import type { CoatCourse } from "../../../predictor/serve/api.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { apiOf, type CoatRef, type ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { Told } from "../told.tsx";
import { CoursePlate } from "./course-plate.tsx";
import { Deviations } from "./deviations.tsx";
import { Figures, FileStages } from "./figures.tsx";
import { clockAxis } from "./file-axis.ts";
import { Batches, Certificates, Entries, FileWarnings, SprayCheck } from "./kept.tsx";
import { Verdict } from "./verdict.tsx";
import "./file.css";

const againMs = 60_000;

export function FilePage({ of }: { of: CoatRef }) {
  const words = useWords();
  const at = apiOf(of);
  const { answer, failure, look } = useAsked<ShownFile>(`${at}/file`, againMs);
  const course = useAsked<CoatCourse>(`${at}/course`, againMs).answer;
  // What was read once stays while the link is lost, marked as old: what is half typed in it is not lost.
  const before = useRef<ShownFile | null>(null);
  if (answer !== null) before.current = answer;
  const file = before.current;
  if (file === null) {
    return (
      <DeskPage title={words.t("file.title-none")}>
        {failure === null ? (
          <p role="status">{words.t("page.looking")}</p>
        ) : (
          <div class="desk-notice" role="alert">
            <p>{failure}</p>
            <a class="desk-button" href="/log">
              {words.t("file.to-log")}
            </a>
          </div>
        )}
      </DeskPage>
    );
  }
  return <File file={file} course={course} lost={failure} reload={look} />;
}

interface Props {
  file: ShownFile;
  course: CoatCourse | null;
  /** Why it could not be read anew. */
  lost: string | null;
  reload(): void;
}

function File({ file, course, lost, reload }: Props) {
  const { clock, nowMs, office } = useDesk();
  const words = useWords();
  const { coat, held } = file;
  return (
    <DeskPage
      title={`${coat.car}: ${words.named("kind", coat.sheet.kind)}`}
      actions={
        office === null && (
          <a class="desk-button" href={`/coats/${encodeURIComponent(coat.id)}`}>
            {words.t("file.correct")}
          </a>
        )
      }
    >
      {lost !== null && (
        <p class="say-failure" role="alert">
          {words.t("file.old", { why: lost })}
        </p>
      )}
      <p class="file-what">
        {words.t("file.what", {
          job: coat.job,
          panels: coat.panels.map((name) => ({ prefix: "panel", name })),
          sheet: coat.sheet.name,
          revision: coat.sheet.revision,
        })}
        {coat.sheet.invented && ` ${words.t("file.invented-sheet")}`}
      </p>
      <p class="file-what">
        {words.t("file.finished", {
          time: { dateMs: Date.parse(coat.finishedAt) },
          who: coat.who,
          place: coat.bands.find(({ kind }) => kind === "place")?.text ?? words.t("file.place-gone"),
        })}
      </p>
      {held !== undefined && <Told held={held} />}
      <div class="file-first">
        <Verdict file={file} reload={reload} />
        <Deviations file={file} reload={reload} />
      </div>
      <section aria-label={words.t("file.course")}>
        <CoursePlate file={file} course={course} scale={(most) => clockAxis(file, clock, nowMs, most)} clock={clock} />
        {held !== undefined && <p class="hint">{words.t("office.air-only")}</p>}
      </section>
      <div class="file-columns">
        <FileStages file={file} />
        <Figures file={file} />
        <SprayCheck file={file} />
        <div>
          <FileWarnings file={file} />
          <Batches file={file} />
        </div>
        <Certificates file={file} reload={reload} />
      </div>
      <Entries file={file} />
    </DeskPage>
  );
}
