/** The table of minutes as a sheet prints it: a row for each stage, a column for each temperature. */
import type { StageName, WaitsFor } from "../../../predictor/serve/sheet-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { Scroll } from "../scroll.tsx";
import { columnKeys, newStage, type SheetDraft, type StageDraft } from "./draft.ts";
import { Choice, Fault, Field, fieldId, RemoveRow, useFaults } from "./fields.tsx";
import { allStages } from "./stage-looks.ts";
import { typedIn } from "./typed.ts";

const waits: readonly WaitsFor[] = ["reaction", "moisture", "water", "solvent"];

interface Props {
  draft: SheetDraft;
  onChange(some: Partial<SheetDraft>): void;
}

export function StageTable({ draft, onChange }: Props) {
  const words = useWords();
  const { shop } = useDesk();
  const { temperatures, stages } = draft;
  const keys = columnKeys(draft, typedIn(words, shop));
  const setStage = (index: number, some: Partial<StageDraft>) =>
    onChange({ stages: stages.map((each, at) => (at === index ? { ...each, ...some } : each)) });
  const addColumn = () =>
    onChange({
      temperatures: [...temperatures, ""],
      stages: stages.map((each) => ({ ...each, minutes: [...each.minutes, ""] })),
    });
  const removeColumn = (column: number) =>
    onChange({
      temperatures: temperatures.filter((_, at) => at !== column),
      stages: stages.map((each) => ({ ...each, minutes: each.minutes.filter((_, at) => at !== column) })),
    });
  const unused = allStages.find((stage) => stages.every((each) => each.stage !== stage)) ?? "full-cure";
  const columnName = (column: number) => `${temperatures[column] ?? ""} ${words.temperatureUnit}`;
  return (
    <section class="sheet-part">
      <h2>{words.t("sheets.stages-caption")}</h2>
      <p class="hint">{words.t("sheets.stages-hint")}</p>
      <Fault path="stages" />
      <Scroll name={words.t("sheets.stages")}>
        <table class="desk-table sheet-stages">
          <thead>
            <tr>
              <th scope="col">{words.t("sheets.field.stages.stage")}</th>
              {temperatures.map((text, column) => (
                <th key={column} scope="col">
                  <span class="sheet-column">
                    <input
                      class="desk-field figure"
                      aria-label={words.t("sheets.column", { number: column + 1, unit: words.temperatureUnit })}
                      value={text}
                      inputMode="decimal"
                      autocomplete="off"
                      onInput={({ currentTarget: { value } }) =>
                        onChange({ temperatures: temperatures.map((each, at) => (at === column ? value : each)) })
                      }
                    />
                    {words.temperatureUnit}
                    {temperatures.length > 1 && (
                      <RemoveRow what={columnName(column)} onClick={() => removeColumn(column)} />
                    )}
                  </span>
                </th>
              ))}
              <th scope="col">{words.t("sheets.field.stages.curePercent")}</th>
              <th scope="col">{words.t("sheets.field.stages.by")}</th>
              <th scope="col">
                <span class="unseen">{words.t("sheets.remove-head")}</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {stages.map((stage, index) => (
              <StageRow
                key={index}
                {...{ stage, index, keys, columnName }}
                onChange={(some) => setStage(index, some)}
                onRemove={() => onChange({ stages: stages.filter((_, at) => at !== index) })}
              />
            ))}
          </tbody>
        </table>
      </Scroll>
      <p class="sheet-buttons">
        <button
          type="button"
          class="desk-button"
          onClick={() => onChange({ stages: [...stages, newStage(unused, temperatures.length)] })}
        >
          {words.t("sheets.add-stage")}
        </button>
        <button type="button" class="desk-button" onClick={addColumn}>
          {words.t("sheets.add-temperature")}
        </button>
      </p>
    </section>
  );
}

interface RowProps {
  stage: StageDraft;
  index: number;
  keys: readonly string[];
  columnName(column: number): string;
  onChange(some: Partial<StageDraft>): void;
  onRemove(): void;
}

function StageRow({ stage, index, keys, columnName, onChange, onRemove }: RowProps) {
  const words = useWords();
  const path = `stages.${index}`;
  const name = words.named("stage", stage.stage);
  const cells = keys.map((key) => `${path}.minutesAtC.${key}`);
  // Of the row as a whole, and of cells that stand in no column.
  const ofRow = useFaults(`${path}.minutesAtC`, true).filter((fault) => !cells.includes(fault.path));
  return (
    <>
      <tr>
        <th scope="row">
          <Choice<StageName>
            path={`${path}.stage`}
            label={words.t("sheets.stage-row", { number: index + 1 })}
            value={stage.stage}
            choices={allStages.map((each) => [each, words.named("stage", each)])}
            onChange={(value) => onChange({ stage: value })}
            inTable
          />
        </th>
        {stage.minutes.map((text, column) => (
          <td key={column}>
            <Field
              path={cells[column] ?? path}
              label={words.t("sheets.cell", { stage: name, at: columnName(column) })}
              value={text}
              onChange={(value) =>
                onChange({ minutes: stage.minutes.map((each, at) => (at === column ? value : each)) })
              }
              inTable
              isFigure
            />
          </td>
        ))}
        <td>
          <Field
            path={`${path}.curePercent`}
            label={words.t("sheets.percent-of", { stage: name })}
            value={stage.curePercent}
            onChange={(curePercent) => onChange({ curePercent })}
            inTable
            isFigure
          />
        </td>
        <td>
          <Choice<WaitsFor>
            path={`${path}.by`}
            label={words.t("sheets.waits-of", { stage: name })}
            value={stage.by}
            choices={waits.map((each) => [each, words.named("waits-for", each)])}
            onChange={(by) => onChange({ by })}
            inTable
          />
        </td>
        <td>
          <RemoveRow what={name} onClick={onRemove} />
        </td>
      </tr>
      {ofRow.length > 0 && (
        <tr class="sheet-row-fault">
          <td colSpan={keys.length + 4}>
            <span class="sheet-fault" id={fieldId(`${path}.minutesAtC`)} tabIndex={-1}>
              {[...new Set(ofRow.map(({ text }) => text))].join(" ")}
            </span>
          </td>
        </tr>
      )}
    </>
  );
}
