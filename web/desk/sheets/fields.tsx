/** A field of the form: its label, what stands in it, and what does not fit, said right there. */
import { type ComponentChildren, createContext } from "preact";
import { useContext } from "preact/hooks";
import type { DraftFault } from "../../../predictor/serve/sheet-api.ts";
import { useWords } from "../../parts/words-context.ts";

/** What is to be told of a draft. */
export interface Told {
  faults: readonly DraftFault[];
}
const ToldContext = createContext<Told>({ faults: [] });
export const ToldProvider = ToldContext.Provider;

/** Faults at a path itself; with `below`, those of the keys under it, too. */
export function useFaults(path: string, below = false): readonly DraftFault[] {
  return useContext(ToldContext).faults.filter(
    (fault) => fault.path === path || (below && fault.path.startsWith(`${path}.`)),
  );
}

export const fieldId = (path: string) => `sheet-${path.replaceAll(/[^\w-]/g, "-")}`;

interface FieldProps {
  path: string;
  label: string;
  value: string;
  onChange(value: string): void;
  /** Under the label, where its name does not say all. */
  hint?: string;
  /** The label is for those who hear the page: the table's heads say it to all others. */
  inTable?: boolean;
  /** Takes the faults of what stands below its path, too. */
  below?: boolean;
  isFigure?: boolean;
  rows?: number;
  list?: string;
}

export function Field({
  path,
  label,
  value,
  onChange,
  hint,
  inTable = false,
  below = false,
  isFigure = false,
  rows,
  list,
}: FieldProps) {
  const faults = useFaults(path, below);
  const id = fieldId(path);
  const said = [hint === undefined ? "" : `${id}-hint`, faults.length > 0 ? `${id}-fault` : ""].filter(Boolean);
  const input = {
    id,
    value,
    class: `desk-field ${isFigure ? "figure" : ""}`,
    "aria-invalid": faults.length > 0,
    ...(said.length > 0 ? { "aria-describedby": said.join(" ") } : {}),
    ...(inTable ? { "aria-label": label } : {}),
  };
  return (
    <div class={faults.length > 0 ? "sheet-field sheet-field-wrong" : "sheet-field"}>
      {!inTable && <label for={id}>{label}</label>}
      {hint !== undefined && (
        <span class="hint" id={`${id}-hint`}>
          {hint}
        </span>
      )}
      {rows === undefined ? (
        <input
          type="text"
          {...input}
          autocomplete="off"
          {...(list === undefined ? {} : { list })}
          {...(isFigure ? { inputMode: "decimal" as const } : {})}
          onInput={(event) => onChange(event.currentTarget.value)}
        />
      ) : (
        <textarea {...input} rows={rows} onInput={(event) => onChange(event.currentTarget.value)} />
      )}
      <FaultText id={`${id}-fault`} faults={faults} />
    </div>
  );
}

interface ChoiceProps<T extends string> {
  path: string;
  label: string;
  value: T;
  choices: readonly (readonly [value: T, text: string])[];
  onChange(value: T): void;
  inTable?: boolean;
}

export function Choice<T extends string>({ path, label, value, choices, onChange, inTable = false }: ChoiceProps<T>) {
  const faults = useFaults(path);
  const id = fieldId(path);
  return (
    <div class={faults.length > 0 ? "sheet-field sheet-field-wrong" : "sheet-field"}>
      {!inTable && <label for={id}>{label}</label>}
      <select
        id={id}
        class="desk-field"
        value={value}
        aria-invalid={faults.length > 0}
        {...(inTable ? { "aria-label": label } : {})}
        {...(faults.length > 0 ? { "aria-describedby": `${id}-fault` } : {})}
        onChange={(event) => onChange(event.currentTarget.value as T)}
      >
        {choices.map(([each, text]) => (
          <option key={each} value={each}>
            {text}
          </option>
        ))}
      </select>
      <FaultText id={`${id}-fault`} faults={faults} />
    </div>
  );
}

export function FaultText({ id, faults }: { id: string; faults: readonly DraftFault[] }) {
  if (faults.length === 0) return null;
  return (
    <span class="sheet-fault" id={id}>
      {[...new Set(faults.map(({ text }) => text))].join(" ")}
    </span>
  );
}

export function Part({ title, children }: { title: string; children: ComponentChildren }) {
  return (
    <section class="sheet-part">
      <h2>{title}</h2>
      <div class="sheet-fields">{children}</div>
    </section>
  );
}

/** What does not fit between fields, where no one of them is wrong by itself. */
export function Fault({ path }: { path: string }) {
  const faults = useFaults(path);
  return faults.length === 0 ? null : (
    <p class="sheet-fault" id={`${fieldId(path)}-fault`} tabIndex={-1}>
      {faults.map(({ text }) => text).join(" ")}
    </p>
  );
}

export function RemoveRow({ what, onClick }: { what: string; onClick: () => void }) {
  const words = useWords();
  return (
    <button
      type="button"
      class="desk-button sheet-remove"
      aria-label={words.t("sheets.remove", { what })}
      onClick={onClick}
    >
      ×
    </button>
  );
}
