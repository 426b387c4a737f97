/** `/sheets`: every sheet with what of it is approved, waits, and was sprayed; new ones; files read in. */
import type { SheetFiles } from "../../../predictor/serve/sheet-api.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { Scroll } from "../scroll.tsx";
import { emptyDraft } from "./draft.ts";
import { SheetEditor } from "./editor.tsx";
import { ReadPage } from "./read-page.tsx";
import { typedIn } from "./typed.ts";
import "./sheets.css";

export function SheetsPage() {
  const { search, shop } = useDesk();
  const words = useWords();
  const asked = new URLSearchParams(search);
  if (asked.has("new")) {
    return <SheetEditor title={words.t("sheets.new")} id={null} begin={emptyDraft(typedIn(words, shop))} />;
  }
  return asked.has("read") ? <ReadPage /> : <SheetList />;
}

function SheetList() {
  const words = useWords();
  const { answer, failure, look } = useAsked<SheetFiles>("/api/sheet-files");
  const actions = (
    <p class="sheet-buttons">
      <a class="desk-button" href="/sheets?read">
        {words.t("sheets.read")}
      </a>
      <a class="desk-button desk-button-main" href="/sheets?new">
        {words.t("sheets.new")}
      </a>
    </p>
  );
  return (
    <DeskPage title={words.t("desk.sheets")} actions={actions}>
      {answer === null && <Waiting failure={failure} look={look} />}
      {answer !== null && answer.sheets.length === 0 && <p>{words.t("sheets.none")}</p>}
      {answer !== null && answer.sheets.length > 0 && (
        <Scroll name={words.t("desk.sheets")}>
          <table class="desk-table sheet-wide">
            <thead>
              <tr>
                <th scope="col">{words.t("sheets.field.name")}</th>
                <th scope="col">{words.t("sheets.field.kind")}</th>
                <th scope="col">{words.t("sheets.taken")}</th>
                <th scope="col">{words.t("sheets.waiting")}</th>
                <th scope="col">{words.t("sheets.last-change")}</th>
                <th scope="col" class="figure">
                  {words.t("sheets.coats-head")}
                </th>
              </tr>
            </thead>
            <tbody>
              {answer.sheets.map(({ id, name, kind, invented, newestApproved, waiting, revisions }) => (
                <tr key={id}>
                  <th scope="row">
                    <a href={`/sheets/${encodeURIComponent(id)}`}>{name}</a>
                    {invented && <span class="sheet-mark">{words.t("sheets.invented")}</span>}
                  </th>
                  <td>{words.named("kind", kind)}</td>
                  <td>
                    {newestApproved === null
                      ? words.t("sheets.none-approved")
                      : words.t("sheet.revision", { revision: newestApproved })}
                  </td>
                  <td>
                    {waiting.map((revision) => (
                      <a
                        key={revision}
                        class="sheet-waits"
                        href={`/sheets/${encodeURIComponent(id)}?revision=${revision}`}
                      >
                        {words.t("sheet.revision", { revision })}
                      </a>
                    ))}
                  </td>
                  <td>
                    {revisions[0] !== undefined &&
                      `${words.dateTime(Date.parse(revisions[0].at))}, ${revisions[0].role === "program" ? words.t("sheets.from-file") : revisions[0].who}`}
                  </td>
                  <td class="figure">{revisions.reduce((sum, { coats }) => sum + coats, 0)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
    </DeskPage>
  );
}

/** While there is no answer, or why there is none. */
export function Waiting({ failure, look }: { failure: string | null; look: () => void }) {
  const words = useWords();
  if (failure === null) return <p role="status">{words.t("shell.loading")}</p>;
  return (
    <p role="alert" class="sheet-said">
      {failure}{" "}
      <button type="button" class="desk-button" onClick={look}>
        {words.t("sheets.again")}
      </button>
    </p>
  );
}
