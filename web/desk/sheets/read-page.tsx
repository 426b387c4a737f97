/** `/sheets?read`: the sheets of a YAML file, put into the form one by one. Nothing is kept here. */
import { useState } from "preact/hooks";
import type { ReadDrafts } from "../../../predictor/serve/sheet-api.ts";
import { AskFault, ask } from "../../parts/ask.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { draftOf } from "./draft.ts";
import { keepDraft } from "./kept-draft.ts";
import { typedIn } from "./typed.ts";
import "./form.css";

type ReadSheet = ReadDrafts["sheets"][number];

export function ReadPage() {
  const { shop, go } = useDesk();
  const words = useWords();
  const [yaml, setYaml] = useState("");
  const [answer, setAnswer] = useState<ReadDrafts | null>(null);
  const [failure, setFailure] = useState<string | null>(null);
  const read = async (text: string) => {
    setFailure(null);
    setAnswer(null);
    try {
      setAnswer(await ask<ReadDrafts>("/api/sheet-drafts/read", { yaml: text }));
    } catch (error) {
      setFailure(error instanceof AskFault ? error.detail : String(error));
    }
  };
  const take = ({ sheet, next }: ReadSheet) => {
    const id = next === 1 ? null : sheet.id;
    keepDraft(id, { ...draftOf(sheet, typedIn(words, shop)), revision: next });
    go(id === null ? "/sheets?new" : `/sheets/${encodeURIComponent(id)}?revise`);
  };
  return (
    <DeskPage title={words.t("sheets.read-title")}>
      <p class="hint">{words.t("sheets.read-hint")}</p>
      <form
        class="sheet-read"
        onSubmit={(event) => {
          event.preventDefault();
          void read(yaml);
        }}
      >
        <label class="sheet-field">
          <span>{words.t("sheets.read-file")}</span>
          <input
            type="file"
            class="desk-field"
            accept=".yaml,.yml,text/yaml,application/yaml"
            onChange={async ({ currentTarget: { files } }) => {
              const text = await files?.[0]?.text();
              if (text === undefined) return;
              setYaml(text);
              void read(text);
            }}
          />
        </label>
        <label class="sheet-field">
          <span>{words.t("sheets.read-text")}</span>
          <textarea
            class="desk-field"
            rows={14}
            spellcheck={false}
            value={yaml}
            onInput={(event) => setYaml(event.currentTarget.value)}
          />
        </label>
        <button type="submit" class="desk-button desk-button-main" disabled={yaml.trim() === ""}>
          {words.t("sheets.read-do")}
        </button>
      </form>
      {failure !== null && (
        <p role="alert" class="sheet-said">
          {failure}
        </p>
      )}
      {answer !== null && answer.faults.length > 0 && (
        <section role="alert" class="sheet-said">
          <h2>{words.t("sheets.read-faults")}</h2>
          <ul class="sheet-list">
            {answer.faults.map(({ line, key, text }) => (
              <li key={`${line}${key}${text}`}>{words.t("sheets.read-fault", { line, key, text })}</li>
            ))}
          </ul>
        </section>
      )}
      {answer !== null && answer.sheets.length > 0 && (
        <section>
          <h2>{words.t("sheets.read-found")}</h2>
          <ul class="sheet-found">
            {answer.sheets.map((each) => (
              <li key={each.sheet.id}>
                <span>
                  {each.sheet.name} ({each.sheet.id})
                  {each.sheet.invented && <span class="sheet-mark">{words.t("sheets.invented")}</span>}
                </span>
                {each.isKeptAlready && <span class="hint">{words.t("sheets.read-known")}</span>}
                <button type="button" class="desk-button" onClick={() => take(each)}>
                  {each.next === 1 ? words.t("sheets.take-new") : words.t("sheets.take", { revision: each.next })}
                </button>
              </li>
            ))}
          </ul>
        </section>
      )}
    </DeskPage>
  );
}
