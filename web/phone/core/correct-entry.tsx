/** Puts a refused entry right: its plain fields by hand, the rest as it was; it keeps its key. */
import { useId, useState } from "preact/hooks";
import { useWords } from "../../parts/words-context.ts";
import { phoneOutbox } from "./enter.ts";
import { type EditableField, editableFields, fieldName, instantOf, localOf } from "./entry-fields.ts";
import type { Waiting } from "./outbox-store.ts";
import { ActionButton } from "./parts.tsx";
import { useShell } from "./shell.tsx";

interface Props {
  entry: Waiting;
  done: () => void;
}

export function CorrectEntry({ entry, done }: Props) {
  const { me } = useShell();
  const words = useWords();
  const [body, setBody] = useState<object>(entry.body);
  const fields = editableFields(entry.body);
  const send = async () => {
    const { outbox } = await phoneOutbox();
    done();
    await outbox.sendAgain(entry.key, body, me?.person?.name ?? null);
  };
  return (
    <>
      {fields.map((field) => (
        <EditField
          key={field.field}
          field={field}
          onChange={(value) => setBody((now) => ({ ...now, [field.field]: value }))}
        />
      ))}
      {fields.length === 0 && <p>{words.t("queue.nothing-to-correct")}</p>}
      <a class="text-link" href={entry.page}>
        {words.t("queue.enter-anew")}
      </a>
      <div class="button-row">
        <ActionButton onClick={done}>{words.t("queue.back")}</ActionButton>
        <ActionButton kind="main" onClick={() => void send()}>
          {words.t("queue.send-again")}
        </ActionButton>
      </div>
    </>
  );
}

interface EditFieldProps {
  field: EditableField;
  onChange(value: string | number): void;
}

function EditField({ field, onChange }: EditFieldProps) {
  const { clock, cars, sheets } = useShell();
  const words = useWords();
  const id = useId();
  const { kind, value } = field;
  const options = kind === "place" ? (cars?.places ?? []) : kind === "sheet" ? sheets : null;
  return (
    <div class="field">
      <label for={id}>{fieldName(field.field, words)}</label>
      {options !== null ? (
        <select id={id} defaultValue={value} onChange={(event) => onChange(event.currentTarget.value)}>
          {!options.some(({ id }) => id === value) && <option value={value}>{value}</option>}
          {options.map(({ id, name }) => (
            <option key={id} value={id} selected={id === value}>
              {name}
            </option>
          ))}
        </select>
      ) : kind === "instant" && clock !== null ? (
        <input
          id={id}
          type="datetime-local"
          defaultValue={localOf(value, clock)}
          onChange={(event) => {
            const instant = instantOf(event.currentTarget.value, clock);
            if (instant !== null) onChange(instant);
          }}
        />
      ) : (
        <input
          id={id}
          inputMode={kind === "number" ? "decimal" : "text"}
          defaultValue={String(value)}
          onInput={(event) => {
            const text = event.currentTarget.value;
            const number = Number(text.replace(",", "."));
            if (kind !== "number") onChange(text);
            else if (text.trim() !== "" && Number.isFinite(number)) onChange(number);
          }}
        />
      )}
    </div>
  );
}
