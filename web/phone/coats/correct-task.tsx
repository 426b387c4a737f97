/** A coat is corrected: its finish, film or sheet, or it was entered by mistake. Each with a reason; the old value is kept. */
import { useState } from "preact/hooks";
import type { CoatView } from "../../../predictor/serve/api.ts";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Choice, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { typed } from "../work/mix-entry.ts";
import { Reason } from "./reason.tsx";
import { When } from "./when.tsx";

interface Props {
  coat: CoatView;
  done(result: Entered | null): void;
}

const fields = ["finishedAt", "sheet", "filmUm", "mistake"] as const;
type Field = (typeof fields)[number];

export function CorrectTask({ coat, done }: Props) {
  const { clock, nowMs, sheets } = useShell();
  const words = useWords();
  const [field, setField] = useState<Field>("finishedAt");
  const [atMs, setAtMs] = useState<number | null>(Date.parse(coat.finishedAt));
  const [sheet, setSheet] = useState(coat.sheet.id);
  const [film, setFilm] = useState("");
  const filmUm = typed(film);
  const changes: Record<Field, object | null> = {
    finishedAt: atMs === Date.parse(coat.finishedAt) ? null : { finishedAt: new Date(atMs ?? nowMs).toISOString() },
    sheet: sheet === coat.sheet.id ? null : { sheet },
    filmUm: filmUm === undefined ? null : { filmUm },
    mistake: {},
  };
  const change = changes[field];
  const send = async (reason: string) => {
    const label = words.t("correct.entry", { car: coat.car, kind: words.named("kind", coat.sheet.kind) });
    const body = { ...change, reason };
    done(
      await (field === "mistake"
        ? enter({ method: "POST", path: `/api/coats/${coat.id}/withdrawal`, body, label })
        : enter({ method: "PATCH", path: `/api/coats/${coat.id}`, body, label })),
    );
  };
  return (
    <Page
      title={words.t("correct.title")}
      actions={<ActionButton onClick={() => done(null)}>{words.t("warnings.cancel")}</ActionButton>}
    >
      <p class="about">{`${coat.car}: ${coat.panels.map((name) => words.named("panel", name)).join(", ")}`}</p>
      <Choice<Field>
        label={words.t("correct.what")}
        options={fields.map((each) => ({ value: each, text: words.t(`corrected.${each}`) }))}
        value={field}
        onChange={(value) => setField(value)}
      />
      {field === "finishedAt" && clock !== null && (
        <When label={words.t("finish.when")} nowMs={nowMs} clock={clock} value={atMs} onChange={setAtMs} />
      )}
      {field === "sheet" && (
        <label class="work-pick">
          <span>{words.t("corrected.sheet")}</span>
          <select value={sheet} onChange={(event) => setSheet(event.currentTarget.value)}>
            {sheets.map(({ id, name, kind }) => (
              <option key={id} value={id}>
                {`${name} (${words.named("kind", kind)})`}
              </option>
            ))}
          </select>
        </label>
      )}
      {field === "filmUm" && (
        <label class="work-pick">
          <span>{words.t("mix.film")}</span>
          <input inputMode="decimal" value={film} onInput={(event) => setFilm(event.currentTarget.value)} />
        </label>
      )}
      {field === "mistake" && <p>{words.t("correct.mistake-hint")}</p>}
      <Reason
        usual={["reason.late-tap", "reason.wrong-sheet", "reason.wrong-panels", "reason.measured"]}
        disabled={change === null}
        onReason={(reason) => void send(reason)}
      />
    </Page>
  );
}
