/** The form, in the order of a printed sheet. */
import type { TextKey } from "../../../words/text.ts";
import { useWords } from "../../parts/words-context.ts";
import { idOf, newMix, type SheetDraft } from "./draft.ts";
import { Fault, Field, Part, RemoveRow } from "./fields.tsx";
import { Kinetics } from "./printed.tsx";
import { StageTable } from "./stage-table.tsx";
import { WindowRows } from "./window-rows.tsx";

export interface FormProps {
  draft: SheetDraft;
  /** A new sheet may still be given its short name. */
  isNew: boolean;
  onChange(draft: SheetDraft): void;
}

/** Kinds that the pages have words for; any other will do. */
const kinds = ["pre-treatment", "surfacer", "sealer", "basecoat", "clearcoat"];

export function SheetForm({ draft, isNew, onChange }: FormProps) {
  const words = useWords();
  const { fields } = draft;
  const change = (some: Partial<SheetDraft>) => onChange({ ...draft, ...some });
  const put = (some: SheetDraft["fields"]) => change({ fields: { ...fields, ...some } });
  const field = (
    path: string,
    more: { isFigure?: boolean; below?: boolean; rows?: number; list?: string; hint?: string } = {},
  ) => (
    <Field
      {...more}
      path={path}
      label={words.t(`sheets.field.${path}` as TextKey, { at: { celsius: 20 } })}
      value={fields[path] ?? ""}
      onChange={(value) => put({ [path]: value })}
    />
  );
  const figure = (path: string, hint?: string) =>
    field(path, { isFigure: true, ...(hint === undefined ? {} : { hint }) });
  const degrees = words.temperatureUnit;
  const name = fields.name ?? "";
  const isOwnId = (fields.id ?? "") !== idOf(name);
  return (
    <>
      <Part title={words.t("sheets.part-what")}>
        <Field
          path="name"
          label={words.t("sheets.field.name")}
          value={name}
          onChange={(value) => put({ name: value, ...(isNew && !isOwnId ? { id: idOf(value) } : {}) })}
        />
        {isNew && field("id", { hint: words.t("sheets.id-hint") })}
        {field("kind", { list: "sheet-kinds", hint: words.t("sheets.kind-hint") })}
        <datalist id="sheet-kinds">
          {kinds.map((kind) => (
            <option key={kind} value={kind}>
              {words.named("kind", kind)}
            </option>
          ))}
        </datalist>
        {figure("film.dryUm")}
        <label class="sheet-check">
          <input
            type="checkbox"
            checked={draft.invented}
            onChange={(event) => change({ invented: event.currentTarget.checked })}
          />
          {words.t("sheets.field.invented")}
        </label>
      </Part>
      <StageTable draft={draft} onChange={change} />
      <Part title={words.t("sheets.part-limits")}>
        {(["airC", "panelC", "rhPercent"] as const).map((what) => (
          <fieldset key={what} class="sheet-range">
            <legend>
              {words.t(`sheets.field.limits.${what}`)}, {what === "rhPercent" ? "%" : degrees}
            </legend>
            <Field
              {...{ path: `limits.${what}.min`, label: words.t("sheets.at-least"), isFigure: true }}
              value={fields[`limits.${what}.min`] ?? ""}
              onChange={(value) => put({ [`limits.${what}.min`]: value })}
            />
            <Field
              {...{ path: `limits.${what}.max`, label: words.t("sheets.at-most"), isFigure: true }}
              value={fields[`limits.${what}.max`] ?? ""}
              onChange={(value) => put({ [`limits.${what}.max`]: value })}
            />
            <Fault path={`limits.${what}`} />
          </fieldset>
        ))}
      </Part>
      <WindowRows draft={draft} onChange={change} />
      <Part title={words.t("sheets.part-mix")}>
        {field("mixRatio")}
        {figure("potLifeMinutesAt20C")}
        {figure("solidsByVolumePercent")}
        <fieldset class="sheet-rows">
          <legend>{words.t("sheets.field.mix")}</legend>
          <p class="hint">{words.t("sheets.mix-hint")}</p>
          <Fault path="mix" />
          {draft.mix.map((row, index) => {
            const set = (some: Partial<typeof row>) =>
              change({ mix: draft.mix.map((each, at) => (at === index ? { ...each, ...some } : each)) });
            return (
              <div key={index} class="sheet-row">
                <Field
                  path={`mix.${index}.component`}
                  label={words.t("sheets.field.mix.component")}
                  value={row.component}
                  onChange={(component) => set({ component })}
                />
                <Field
                  path={`mix.${index}.parts`}
                  label={words.t("sheets.field.mix.parts")}
                  value={row.parts}
                  onChange={(parts) => set({ parts })}
                  isFigure
                />
                <RemoveRow
                  what={row.component || words.t("sheets.row", { number: index + 1 })}
                  onClick={() => change({ mix: draft.mix.filter((_, at) => at !== index) })}
                />
              </div>
            );
          })}
          <button type="button" class="desk-button" onClick={() => change({ mix: [...draft.mix, newMix()] })}>
            {words.t("sheets.add-component")}
          </button>
        </fieldset>
      </Part>
      <Part title={words.t("sheets.part-spray")}>
        {field("coats")}
        {figure("usualCoats")}
        {field("flashBetweenCoats")}
        <fieldset class="sheet-range sheet-range-wide">
          <legend>{words.t("sheets.field.spray")}</legend>
          <Fault path="spray" />
          {field("spray.nozzleMm")}
          <Fault path="spray.inletPressureBar" />
          {figure("spray.inletPressureBar.from")}
          {figure("spray.inletPressureBar.to")}
          {figure("spray.inletPressureBar.limit")}
        </fieldset>
        {figure("squareMetresPerWipe")}
        <div class="sheet-field-wide">
          <Field
            path="cautions"
            label={words.t("sheets.field.cautions")}
            hint={words.t("sheets.cautions-hint")}
            value={draft.cautions}
            onChange={(cautions) => change({ cautions })}
            rows={4}
            below
          />
        </div>
      </Part>
      <details class="sheet-lab">
        <summary>{words.t("sheets.part-lab")}</summary>
        <div class="sheet-fields">
          {figure("activationEnergyKJ", words.t("sheets.usual-value", { value: 50 }))}
          {figure("airSpeedMps", words.t("sheets.usual-value", { value: 0.2 }))}
          {figure("humiditySensitivity", words.t("sheets.usual-value", { value: 0 }))}
          {figure("filmExponent")}
          {draft.stages.map((stage, index) => (
            <Field
              key={index}
              path={`stages.${index}.humiditySensitivity`}
              label={words.t("sheets.sensitivity-of", { stage: { prefix: "stage", name: stage.stage } })}
              value={stage.humiditySensitivity}
              onChange={(humiditySensitivity) =>
                change({
                  stages: draft.stages.map((each, at) => (at === index ? { ...each, humiditySensitivity } : each)),
                })
              }
              isFigure
            />
          ))}
        </div>
        {draft.kinetics === undefined ? (
          <p class="hint">{words.t("sheets.no-kinetics")}</p>
        ) : (
          <Kinetics kinetics={draft.kinetics} />
        )}
      </details>
    </>
  );
}
