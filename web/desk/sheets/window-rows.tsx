/** Windows: until when the next step must happen, and what must be done when it did not. */
import type { StageName } from "../../../predictor/serve/sheet-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { newWindow, type SheetDraft, type WindowDraft } from "./draft.ts";
import { Choice, Fault, Field, RemoveRow } from "./fields.tsx";
import { allStages } from "./stage-looks.ts";

interface Props {
  draft: SheetDraft;
  onChange(some: Partial<SheetDraft>): void;
}

export function WindowRows({ draft: { windows, stages }, onChange }: Props) {
  const words = useWords();
  const set = (index: number, some: Partial<WindowDraft>) =>
    onChange({ windows: windows.map((each, at) => (at === index ? { ...each, ...some } : each)) });
  const isOnSheet = (stage: StageName) => stage === "full-cure" || stages.some((each) => each.stage === stage);
  const stageChoices = (chosen: string) =>
    allStages
      .filter((stage) => isOnSheet(stage) || stage === chosen)
      .map((stage) => [stage, words.named("stage", stage)] as const);
  return (
    <section class="sheet-part">
      <h2>{words.t("sheets.field.windows")}</h2>
      <p class="hint">{words.t("sheets.windows-hint")}</p>
      {windows.map((window, index) => {
        const path = `windows.${index}`;
        return (
          <fieldset key={index} class="sheet-window">
            <legend>{window.for || words.t("sheets.row", { number: index + 1 })}</legend>
            <Fault path={path} />
            <Field
              path={`${path}.for`}
              label={words.t("sheets.field.windows.for")}
              value={window.for}
              onChange={(text) => set(index, { for: text })}
            />
            <Choice<WindowDraft["opensAt"]>
              path={`${path}.opensAt`}
              label={words.t("sheets.field.windows.opensAt")}
              value={window.opensAt}
              choices={[["finish", words.t("sheets.opens.finish")], ...stageChoices(window.opensAt)]}
              onChange={(opensAt) => set(index, { opensAt })}
            />
            <Field
              path={`${path}.closesAfterMinutes`}
              label={words.t("sheets.field.windows.closesAfterMinutes")}
              value={window.closesAfterMinutes}
              onChange={(closesAfterMinutes) => set(index, { closesAfterMinutes })}
              isFigure
            />
            <Field
              path={`${path}.atC`}
              label={`${words.t("sheets.field.windows.atC")}, ${words.temperatureUnit}`}
              value={window.atC}
              onChange={(atC) => set(index, { atC })}
              isFigure
            />
            <Choice<WindowDraft["closesAt"]>
              path={`${path}.closesAt`}
              label={words.t("sheets.field.windows.closesAt")}
              value={window.closesAt}
              choices={[["", words.t("sheets.no-stage")], ...stageChoices(window.closesAt)]}
              onChange={(closesAt) => set(index, { closesAt })}
            />
            <Field
              path={`${path}.ifMissed`}
              label={words.t("sheets.field.windows.ifMissed")}
              value={window.ifMissed}
              onChange={(ifMissed) => set(index, { ifMissed })}
            />
            <RemoveRow
              what={window.for || words.t("sheets.row", { number: index + 1 })}
              onClick={() => onChange({ windows: windows.filter((_, at) => at !== index) })}
            />
          </fieldset>
        );
      })}
      <button type="button" class="desk-button" onClick={() => onChange({ windows: [...windows, newWindow()] })}>
        {words.t("sheets.add-window")}
      </button>
    </section>
  );
}
