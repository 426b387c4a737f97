/** What became of the coat, and what the quality lead does about it: release, hold, open again. */

import { signInPath } from "../../parts/router.ts";
import { useWords } from "../../parts/words-context.ts";
import type { ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { FileStateMark } from "../log/file-state.tsx";
import { roleWord } from "./role-word.ts";
import { Say } from "./say.tsx";

interface Props {
  file: ShownFile;
  reload(): void;
}

export function Verdict({ file, reload }: Props) {
  const words = useWords();
  const { coat, state, verdict } = file;
  return (
    <section class="verdict-box" aria-label={words.t("log.state")}>
      <p class="verdict-state" role="status">
        <FileStateMark state={state} />
      </p>
      {verdict !== null && (
        <p>
          {words.t("file.verdict", {
            words: verdict.words,
            who: verdict.who,
            role: roleWord(verdict.role, words),
            time: { dateMs: Date.parse(verdict.at) },
          })}
        </p>
      )}
      {coat.withdrawn !== null && (
        <p>{words.t("coat.withdrawn", { who: coat.withdrawn.who, reason: coat.withdrawn.reason })}</p>
      )}
      {state !== "withdrawn" && <p class="caution">{coat.caution}</p>}
      {state !== "withdrawn" && <Acts file={file} reload={reload} />}
    </section>
  );
}

function Acts({ file, reload }: Props) {
  const { me, office, path, search } = useDesk();
  const words = useWords();
  const { coat, state, notYet, deviations } = file;
  if (office !== null) {
    const isOpen = state === "drying" || state === "ready";
    return isOpen && notYet !== null ? <p class="not-yet">{words.t("file.not-yet", { why: notYet })}</p> : null;
  }
  if (me?.person?.role !== "quality") {
    return (
      <p class="hint">
        {words.t("file.for-whom", { roles: words.t("role.quality") })}{" "}
        {me?.person === null && <a href={signInPath(path, search)}>{words.t("shell.sign-in")}</a>}
      </p>
    );
  }
  const at = (what: string) => `/api/coats/${encodeURIComponent(coat.id)}/${what}`;
  const isOpen = state === "drying" || state === "ready";
  return (
    <div class="acts">
      {isOpen && (
        <Say
          label={words.t("file.meaning")}
          button={words.t("file.release")}
          isMain
          isAllowed={notYet === null}
          usual={[
            words.t("file.meaning-next"),
            words.t("file.meaning-delivery"),
            ...(deviations.length > 0 ? [words.t("file.meaning-answered")] : []),
          ]}
          path={at("sign-offs")}
          body={(meaning) => ({ meaning })}
          done={reload}
        >
          {notYet !== null && <p class="not-yet">{words.t("file.not-yet", { why: notYet })}</p>}
        </Say>
      )}
      {state !== "held" && (
        <details>
          <summary>{words.t(state === "released" ? "file.hold-released" : "file.hold-open")}</summary>
          <Say
            label={words.t("file.reason")}
            button={words.t("file.hold")}
            path={at("hold")}
            body={(reason) => ({ reason })}
            done={reload}
          />
        </details>
      )}
      {!isOpen && (
        <details>
          <summary>{words.t("file.reopen-open")}</summary>
          <Say
            label={words.t("file.reason")}
            button={words.t("file.reopen")}
            path={at("reopening")}
            body={(reason) => ({ reason })}
            done={reload}
          />
        </details>
      )}
    </div>
  );
}
