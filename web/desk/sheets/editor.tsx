/** Writing a sheet or its next revision: checked and drawn while typing; kept when the person says so. */
import { useEffect, useMemo, useState } from "preact/hooks";
import type { DraftFault, SheetFile } from "../../../predictor/serve/sheet-api.ts";
import { AskFault, tell } from "../../parts/ask.ts";
import { signInPath } from "../../parts/router.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { type SheetDraft, sheetOf } from "./draft.ts";
import { Field, fieldId, ToldProvider } from "./fields.tsx";
import { SheetForm } from "./form.tsx";
import { keepDraft, keptDraft } from "./kept-draft.ts";
import { SheetPicture } from "./picture.tsx";
import { typedIn } from "./typed.ts";
import { type Checked, useCheck } from "./use-check.ts";
import "./form.css";

interface Props {
  title: string;
  /** The sheet that is revised; null for a new one. */
  id: string | null;
  /** What the form begins with where nothing was typed before. */
  begin: SheetDraft;
}

export function SheetEditor({ title, id, begin }: Props) {
  const { shop, go } = useDesk();
  const words = useWords();
  const typed = typedIn(words, shop);
  const [before] = useState(() => keptDraft(id, typed));
  const [draft, setDraft] = useState(before ?? begin);
  const [round, setRound] = useState(0);
  const [isTried, setTried] = useState(false);
  const [refusal, setRefusal] = useState<AskFault | null>(null);
  const [isBusy, setBusy] = useState(false);
  const isTyped = useMemo(() => JSON.stringify(draft) !== JSON.stringify(begin), [draft, begin]);
  useEffect(() => keepDraft(id, isTyped ? draft : null), [id, draft, isTyped]);
  const sheet = JSON.stringify(sheetOf(draft, typed));
  const checked = useCheck(sheet, round);
  const all = checked.answer?.faults ?? [];
  // What is not typed yet is no fault until one wants to keep it.
  const faults = isTried ? all : all.filter(({ isMissing }) => !isMissing);
  const isOvertaken = id !== null && checked.answer !== null && checked.answer.next > draft.revision;

  const keep = async () => {
    setTried(true);
    if (all.length > 0 || isBusy) return;
    setBusy(true);
    setRefusal(null);
    try {
      const { reason } = draft;
      const body = { sheet: JSON.parse(sheet) as unknown, ...(reason.trim() === "" ? {} : { reason }) };
      const { sheet: kept } = await tell<SheetFile>("POST", "/api/sheet-files", body);
      keepDraft(id, null);
      go(`/sheets/${encodeURIComponent(kept.id)}?revision=${kept.revision}`, "instead");
    } catch (error) {
      setRefusal(error instanceof AskFault ? error : new AskFault(null, String(error)));
      // It may be that somebody else was quicker.
      setRound(round + 1);
      setBusy(false);
    }
  };
  const leave = () => {
    keepDraft(id, null);
    go(id === null ? "/sheets" : `/sheets/${encodeURIComponent(id)}`);
  };

  return (
    <DeskPage title={title}>
      <form
        class="sheet-editor"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void keep();
        }}
      >
        <div class="sheet-form">
          <ToldProvider value={{ faults }}>
            <WhoKeeps />
            {before !== null && <p class="hint">{words.t("sheets.draft-from-before")}</p>}
            <SheetForm draft={draft} isNew={id === null} onChange={setDraft} />
            {id !== null && (
              <section class="sheet-part">
                <Field
                  path="reason"
                  label={words.t("sheets.reason")}
                  hint={words.t("sheets.reason-hint")}
                  value={draft.reason}
                  onChange={(reason) => setDraft({ ...draft, reason })}
                  rows={2}
                />
              </section>
            )}
          </ToldProvider>
        </div>
        <aside class="sheet-beside" aria-label={words.t("sheets.picture")}>
          <h2>{words.t("sheets.picture")}</h2>
          <p role="status" class="hint">
            {stateText(checked, faults.length, words)}
          </p>
          {checked.ladder !== null && (
            <div class={all.length > 0 || checked.isOld ? "sheet-old" : ""}>
              {all.length > 0 && <p class="hint">{words.t("sheets.last-sound")}</p>}
              <SheetPicture ladder={checked.ladder} />
            </div>
          )}
        </aside>
        <div class="sheet-keep">
          <FaultList faults={faults} />
          {isOvertaken && (
            <p class="sheet-said" role="alert">
              {words.t("sheets.overtaken", { mine: draft.revision, next: checked.answer?.next ?? 0 })}{" "}
              <a href={`/sheets/${encodeURIComponent(id)}`}>{words.t("sheets.look-at-it")}</a>{" "}
              <button
                type="button"
                class="desk-button"
                onClick={() => setDraft({ ...draft, revision: checked.answer?.next ?? draft.revision })}
              >
                {words.t("sheets.go-on-as", { next: checked.answer?.next ?? 0 })}
              </button>
            </p>
          )}
          {refusal !== null && <Refusal refusal={refusal} />}
          <p class="sheet-buttons">
            <button type="submit" class="desk-button desk-button-main" disabled={isBusy || isOvertaken}>
              {words.t("sheets.keep", { revision: draft.revision })}
            </button>
            <button type="button" class="desk-button" onClick={leave}>
              {words.t("sheets.discard")}
            </button>
          </p>
          <p class="hint">{words.t("sheets.keep-hint")}</p>
        </div>
      </form>
    </DeskPage>
  );
}

function stateText({ failure, answer, isOld }: Checked, faults: number, words: ReturnType<typeof useWords>): string {
  if (failure !== null) return words.t("sheets.not-checked", { why: failure });
  if (answer === null || isOld) return words.t("sheets.checking");
  if (answer.faults.length === 0) return words.t("sheets.sound");
  if (faults > 0) return words.t("sheets.faults", { count: faults });
  return words.t("sheets.missing", { count: answer.faults.length });
}

/** All faults in one place, each with the way to its field. */
function FaultList({ faults }: { faults: readonly DraftFault[] }) {
  const words = useWords();
  if (faults.length === 0) return null;
  return (
    <section class="sheet-said" aria-label={words.t("sheets.fault-list")}>
      <ul class="sheet-list">
        {faults.map(({ path, field, text }) => (
          <li key={path + text}>
            <button type="button" class="sheet-link" onClick={() => showField(path)}>
              {field}
            </button>
            {": "}
            {text}
          </li>
        ))}
      </ul>
    </section>
  );
}

/** The field at a path, or the nearest that stands above it. */
function showField(path: string): void {
  const keys = path.split(".");
  for (let length = keys.length; length > 0; length--) {
    const id = fieldId(keys.slice(0, length).join("."));
    const field = document.getElementById(id) ?? document.getElementById(`${id}-fault`);
    if (field === null) continue;
    field.closest("details")?.setAttribute("open", "");
    field.focus();
    return;
  }
}

function WhoKeeps() {
  const { me, path, search } = useDesk();
  const words = useWords();
  if (me === null || me.person?.role === "quality" || me.person?.role === "installer") return null;
  return (
    <p class="sheet-said">
      {me.person === null ? words.t("sheets.sign-in-to-keep") : words.t("sheets.may-not-keep")}{" "}
      <a href={signInPath(path, search)}>{words.t("shell.sign-in")}</a>
    </p>
  );
}

/** Why it was not kept. What was typed stays where it is, over the way to the sign-in page, too. */
function Refusal({ refusal: { status, detail } }: { refusal: AskFault }) {
  const { path, search } = useDesk();
  const words = useWords();
  return (
    <p class="sheet-said" role="alert">
      {words.t("sheets.not-kept", { why: detail })}{" "}
      {(status === 401 || status === 403) && <a href={signInPath(path, search)}>{words.t("shell.sign-in")}</a>}
    </p>
  );
}
