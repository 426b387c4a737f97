/** `/sheets/{sheet}`: one sheet as printed, drawn beside it, its history and approval; or its next revision in the form. */
import { useState } from "preact/hooks";
import type { RevisionView, SheetFile, SheetFiles } from "../../../predictor/serve/sheet-api.ts";
import { AskFault, tell } from "../../parts/ask.ts";
import { signInPath } from "../../parts/router.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { Scroll } from "../scroll.tsx";
import { draftOf } from "./draft.ts";
import { SheetEditor } from "./editor.tsx";
import { SheetPicture } from "./picture.tsx";
import { PrintedSheet } from "./printed.tsx";
import { Waiting } from "./sheets-page.tsx";
import { typedIn } from "./typed.ts";
import "./sheets.css";

export function SheetPage({ id }: { id: string }) {
  const { search, shop } = useDesk();
  const words = useWords();
  const asked = new URLSearchParams(search);
  const files = useAsked<SheetFiles>(asked.has("revision") ? null : "/api/sheet-files");
  const sheet = files.answer?.sheets.find((each) => each.id === id);
  const newest = sheet?.revisions[0]?.revision;
  // Revised is the newest there is; looked at, what new coats take.
  const found = asked.has("revise") ? newest : (sheet?.newestApproved ?? newest);
  const revision = asked.get("revision") ?? found;
  const path =
    revision === undefined ? null : `/api/sheet-files/${encodeURIComponent(id)}/${encodeURIComponent(revision)}`;
  const file = useAsked<SheetFile>(path);
  const [approved, setApproved] = useState<SheetFile | null>(null);
  const shown = approved ?? file.answer;
  if (shown === null) {
    const isNone = files.answer !== null && sheet === undefined;
    const failure = isNone ? words.t("sheets.no-such", { id }) : (files.failure ?? file.failure);
    const look = () => {
      files.look();
      file.look();
    };
    return (
      <DeskPage title={id}>
        <Waiting {...{ failure, look }} />
      </DeskPage>
    );
  }
  if (asked.has("revise")) {
    const begin = { ...draftOf(shown.sheet, typedIn(words, shop)), revision: shown.next };
    const title = words.t("sheets.revise-title", { name: shown.sheet.name, revision: shown.next });
    return <SheetEditor {...{ title, id, begin }} />;
  }
  return <SheetView file={shown} onApproved={setApproved} />;
}

function SheetView({ file, onApproved }: { file: SheetFile; onApproved: (file: SheetFile) => void }) {
  const words = useWords();
  const { sheet, ladder, revisions, changes, newestApproved } = file;
  const own = revisions.find(({ revision }) => revision === sheet.revision);
  const at = `/sheets/${encodeURIComponent(sheet.id)}`;
  const actions = (
    <p class="sheet-buttons">
      <a class="desk-button" href={`/api/sheet-files/${encodeURIComponent(sheet.id)}/${sheet.revision}/yaml`} download>
        {words.t("sheets.as-yaml")}
      </a>
      <a class="desk-button desk-button-main" href={`${at}?revise`}>
        {words.t("sheets.revise")}
      </a>
    </p>
  );
  return (
    <DeskPage title={sheet.name} actions={actions}>
      <p class="sheet-stand">
        {words.named("kind", sheet.kind)}, {words.t("sheet.revision", { revision: sheet.revision })}
        {sheet.invented && <span class="sheet-mark">{words.t("sheets.invented")}</span>}
      </p>
      {own !== undefined && <Standing {...{ own, newestApproved }} />}
      {own?.approved === null && <Approve {...{ file, own, onApproved }} />}
      <div class="sheet-view">
        <section aria-label={words.t("sheets.as-printed")}>
          <h2>{words.t("sheets.as-printed")}</h2>
          <PrintedSheet sheet={sheet} />
        </section>
        <section aria-label={words.t("sheets.picture")}>
          <h2>{words.t("sheets.picture")}</h2>
          <SheetPicture ladder={ladder} />
        </section>
      </div>
      {changes !== null && (
        <section>
          <h2>{words.t("sheets.changes", { revision: sheet.revision })}</h2>
          {changes.length === 0 ? <p>{words.t("sheets.no-changes")}</p> : <Changes changes={changes} />}
        </section>
      )}
      <section>
        <h2>{words.t("sheets.history")}</h2>
        <History {...{ id: sheet.id, revisions }} shown={sheet.revision} />
      </section>
    </DeskPage>
  );
}

/** Whether new coats take what one looks at. */
function Standing({ own, newestApproved }: { own: RevisionView; newestApproved: number | null }) {
  const words = useWords();
  if (own.approved === null) {
    return <p class="sheet-said">{words.t("sheets.stands-waiting", { newest: newestApproved ?? "none" })}</p>;
  }
  if (newestApproved !== own.revision) {
    return <p class="sheet-said">{words.t("sheets.stands-older", { newest: newestApproved ?? 0 })}</p>;
  }
  return <p>{words.t("sheets.stands-taken")}</p>;
}

interface ApproveProps {
  file: SheetFile;
  own: RevisionView;
  onApproved(file: SheetFile): void;
}

function Approve({ file, own, onApproved }: ApproveProps) {
  const { me, path, search } = useDesk();
  const words = useWords();
  const [failure, setFailure] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const approve = async () => {
    setBusy(true);
    setFailure(null);
    try {
      const at = `/api/sheet-files/${encodeURIComponent(file.sheet.id)}/${own.revision}/approval`;
      onApproved(await tell<SheetFile>("POST", at, {}));
    } catch (error) {
      setFailure(error instanceof AskFault ? error.detail : String(error));
      setBusy(false);
    }
  };
  if (me?.person?.role !== "quality") {
    return (
      <p>
        {words.t("sheets.who-approves")}{" "}
        {me?.person === null && <a href={signInPath(path, search)}>{words.t("shell.sign-in")}</a>}
      </p>
    );
  }
  return (
    <div class="sheet-approve">
      {me.person.name === own.who && <p>{words.t("sheets.own-approval")}</p>}
      <button type="button" class="desk-button desk-button-main" disabled={isBusy} onClick={() => void approve()}>
        {words.t("sheets.approve", { revision: own.revision })}
      </button>
      {failure !== null && <p role="alert">{failure}</p>}
    </div>
  );
}

function Changes({ changes }: { changes: NonNullable<SheetFile["changes"]> }) {
  const words = useWords();
  return (
    <Scroll name={words.t("sheets.changes-table")}>
      <table class="desk-table sheet-wide">
        <thead>
          <tr>
            <th scope="col">{words.t("sheets.field-head")}</th>
            <th scope="col">{words.t("sheets.was")}</th>
            <th scope="col">{words.t("sheets.became")}</th>
          </tr>
        </thead>
        <tbody>
          {changes.map(({ field, was, became }) => (
            <tr key={field}>
              <th scope="row">{field}</th>
              <td>{was ?? words.t("sheets.nothing")}</td>
              <td>{became ?? words.t("sheets.nothing")}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function History({ id, revisions, shown }: { id: string; revisions: readonly RevisionView[]; shown: number }) {
  const words = useWords();
  return (
    <Scroll name={words.t("sheets.history")}>
      <table class="desk-table sheet-wide">
        <thead>
          <tr>
            <th scope="col">{words.t("sheets.field.revision")}</th>
            <th scope="col">{words.t("sheets.written")}</th>
            <th scope="col">{words.t("sheets.reason")}</th>
            <th scope="col">{words.t("sheets.approved")}</th>
            <th scope="col">{words.t("sheets.coats-head")}</th>
          </tr>
        </thead>
        <tbody>
          {revisions.map(({ revision, who, role, at, reason, approved, coats }) => (
            <tr key={revision}>
              <th scope="row">
                <a
                  href={`/sheets/${encodeURIComponent(id)}?revision=${revision}`}
                  aria-current={revision === shown ? "true" : undefined}
                >
                  {revision}
                </a>
                {revision === shown && <span class="sheet-mark">{words.t("sheets.shown")}</span>}
              </th>
              <td>{byLine(role === "program" ? words.t("sheets.from-file") : who, at)}</td>
              <td>{reason ?? ""}</td>
              <td>
                {approved === null && words.t("sheets.waits")}
                {approved !== null && role === "program" && words.t("sheets.approved-by-file")}
                {approved !== null && role !== "program" && byLine(approved.who, approved.at)}
                {approved?.isByAuthor && role !== "program" && <strong>{` ${words.t("sheets.same-person")}`}</strong>}
              </td>
              <td>
                <a href={`/log?sheet=${encodeURIComponent(id)}`}>{words.t("sheets.coats-of", { count: coats })}</a>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );

  function byLine(name: string, at: string): string {
    return `${name}, ${words.dateTime(Date.parse(at))}`;
  }
}
