/** Where the coat went off its sheet, what was said to it, and a field for the quality lead to say it. */
import type { DeviationView } from "../../../predictor/serve/proof-api.ts";
import { useWords } from "../../parts/words-context.ts";
import type { ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { deviationName } from "../log/deviation-words.ts";
import { Say } from "./say.tsx";

interface Props {
  file: ShownFile;
  reload(): void;
}

export function Deviations({ file, reload }: Props) {
  const words = useWords();
  const { deviations, coat, state, figures } = file;
  return (
    <section class="file-deviations">
      <h2>{words.t("log.deviations")}</h2>
      {deviations.length === 0 && <p>{words.t(figures.isOver ? "file.no-deviation" : "file.no-deviation-yet")}</p>}
      <ul>
        {deviations.map((deviation) => (
          <li key={deviation.code} class={deviation.answers.length > 0 ? "is-answered" : "is-open"}>
            <Deviation
              deviation={deviation}
              path={`/api/coats/${encodeURIComponent(coat.id)}/deviation-answers`}
              mayAnswer={state !== "withdrawn"}
              reload={reload}
            />
          </li>
        ))}
      </ul>
    </section>
  );
}

interface OneProps {
  deviation: DeviationView;
  path: string;
  mayAnswer: boolean;
  reload(): void;
}

function Deviation({ deviation, path, mayAnswer, reload }: OneProps) {
  const { me, office } = useDesk();
  const words = useWords();
  const { code, text, answers } = deviation;
  const isOpen = answers.length === 0;
  const name = deviationName(code, words);
  const field = (
    <Say
      label={words.t("file.answer-to", { deviation: name })}
      button={words.t("file.answer")}
      path={path}
      body={(answer) => ({ deviation: code, answer })}
      done={reload}
    />
  );
  return (
    <>
      <p>
        <b>{text}</b> <small>{words.t(isOpen ? "log.open" : "log.answered")}</small>
      </p>
      {answers.map(({ answer, who, at }) => (
        <p key={`${at} ${answer}`}>
          {answer} <small>{words.t("file.by", { who, time: { dateMs: Date.parse(at) } })}</small>
        </p>
      ))}
      {mayAnswer &&
        office === null &&
        me?.person?.role === "quality" &&
        (isOpen ? (
          field
        ) : (
          <details>
            <summary>{words.t("file.answer-more", { deviation: name })}</summary>
            {field}
          </details>
        ))}
    </>
  );
}
