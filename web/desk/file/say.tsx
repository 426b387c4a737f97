/** A field and a button: something is said about the coat, and recorded. */
import type { ComponentChildren } from "preact";
import { useId, useState } from "preact/hooks";
import { useWords } from "../../parts/words-context.ts";
import { useAct } from "./use-act.ts";

interface Props {
  /** What the words are. */
  label: string;
  button: string;
  /** The main thing that is done on the page. */
  isMain?: boolean;
  /** False while it may not be done; `children` then say why. */
  isAllowed?: boolean;
  /** Ready to be taken, and changed. */
  usual?: readonly string[];
  path: string;
  body(said: string): object;
  done(): void;
  children?: ComponentChildren;
}

/** As the predictor takes them. */
const leastLetters = 3;
const mostLetters = 200;

export function Say({
  label,
  button,
  isMain = false,
  isAllowed = true,
  usual = [],
  path,
  body,
  done,
  children,
}: Props) {
  const words = useWords();
  const [said, setSaid] = useState("");
  const act = useAct();
  const why = useId();
  const text = said.trim();
  const submit = async (event: SubmitEvent) => {
    event.preventDefault();
    if (!(await act.send(path, body(text)))) return;
    setSaid("");
    done();
  };
  return (
    <form class="say" onSubmit={(event) => void submit(event)}>
      {usual.length > 0 && (
        <fieldset class="say-usual">
          <legend class="unseen">{label}</legend>
          {usual.map((sentence) => (
            <button
              key={sentence}
              type="button"
              class="desk-button"
              aria-pressed={said === sentence}
              onClick={() => setSaid(sentence)}
            >
              {sentence}
            </button>
          ))}
        </fieldset>
      )}
      <label class="desk-labelled">
        <span>{label}</span>
        <input
          class="desk-field"
          value={said}
          maxLength={mostLetters}
          onInput={(event) => setSaid(event.currentTarget.value)}
        />
      </label>
      <div id={why}>{children}</div>
      <button
        type="submit"
        aria-describedby={why}
        class={isMain ? "desk-button desk-button-main" : "desk-button"}
        disabled={!isAllowed || act.isBusy || text.length < leastLetters}
      >
        {button}
      </button>
      {act.failure !== null && (
        <p class="say-failure" role="alert">
          {words.t("file.not-recorded", { why: act.failure })}
        </p>
      )}
    </form>
  );
}
