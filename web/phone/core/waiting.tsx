/** What waits on this phone: a strip over every page, and the list where it is read, put right or thrown away. */
import { useState } from "preact/hooks";
import { useWords } from "../../parts/words-context.ts";
import { CorrectEntry } from "./correct-entry.tsx";
import { phoneOutbox } from "./enter.ts";
import { writtenFields } from "./entry-fields.ts";
import type { Waiting } from "./outbox-store.ts";
import { ActionButton } from "./parts.tsx";
import { useShell } from "./shell.tsx";

/** Leads to the list; nothing where nothing waits and the phone can keep. */
export function WaitingStrip() {
  const { outbox } = useShell();
  const words = useWords();
  if (outbox === null) return null;
  const { entries, hindrance, lasts } = outbox;
  const refused = entries.filter(({ state }) => state === "refused").length;
  const waiting = entries.length - refused;
  if (entries.length === 0 && lasts) return null;
  return (
    <a class="waiting-strip" href="/settings" aria-live="polite">
      {waiting > 0 && <span>{words.t("queue.waiting", { count: waiting })}</span>}{" "}
      {waiting > 0 && hindrance === "sign in" && <span>{words.t("queue.sign-in")}</span>}{" "}
      {refused > 0 && <span class="not-taken">{words.t("queue.refused", { count: refused })}</span>}{" "}
      {!lasts && <span>{words.t("queue.does-not-last")}</span>}
    </a>
  );
}

/** All that is on this phone and not in the records. */
export function WaitingList() {
  const { outbox } = useShell();
  const words = useWords();
  if (outbox === null) return null;
  const { entries, lasts } = outbox;
  return (
    <section aria-label={words.t("queue.title")}>
      <h2>{words.t("queue.title")}</h2>
      {!lasts && <p class="said-as said-as-refused">{words.t("queue.does-not-last-more")}</p>}
      {entries.length === 0 ? (
        <p>{words.t("queue.empty")}</p>
      ) : (
        <ul class="waiting-list">
          {entries.map((entry) => (
            <Entry key={entry.key} entry={entry} />
          ))}
        </ul>
      )}
    </section>
  );
}

function Entry({ entry }: { entry: Waiting }) {
  const { clock, cars, sheets, nowMs } = useShell();
  const words = useWords();
  const [task, setTask] = useState<"correct" | "throw away" | null>(null);
  const { key, label, state, who, madeAtMs, body } = entry;
  const throwAway = async () => (await phoneOutbox()).outbox.throwAway(key);
  return (
    <li class={state}>
      <h3>{label}</h3>
      <p>
        {clock?.when(madeAtMs, nowMs)}
        {who !== null && ` · ${who}`}
      </p>
      <p class="why">{useWhy(entry)}</p>
      {task === "correct" ? (
        <CorrectEntry entry={entry} done={() => setTask(null)} />
      ) : (
        <dl>
          {writtenFields(body, { words, clock, places: cars?.places ?? [], sheets, nowMs }).map(({ name, text }) => (
            <Field key={name} name={name} text={text} />
          ))}
        </dl>
      )}
      {task === null && (
        <div class="button-row">
          {state === "refused" && (
            <ActionButton onClick={() => setTask("correct")}>{words.t("queue.correct")}</ActionButton>
          )}
          <ActionButton kind="danger" onClick={() => setTask("throw away")}>
            {words.t("queue.throw-away")}
          </ActionButton>
        </div>
      )}
      {task === "throw away" && (
        <fieldset class="button-row">
          <legend>{words.t("queue.throw-away-sure")}</legend>
          <ActionButton onClick={() => setTask(null)}>{words.t("queue.keep")}</ActionButton>
          <ActionButton kind="danger" onClick={() => void throwAway()}>
            {words.t("queue.throw-away-yes")}
          </ActionButton>
        </fieldset>
      )}
    </li>
  );
}

function Field({ name, text }: { name: string; text: string }) {
  return (
    <>
      <dt>{name}</dt>
      <dd>{text}</dd>
    </>
  );
}

/** Why an entry is still here. */
function useWhy({ state, detail, who, about, seq }: Waiting): string {
  const { outbox, me } = useShell();
  const words = useWords();
  if (state === "refused") return words.t("queue.said-refused", { detail: detail ?? "" });
  const person = me?.person?.name ?? null;
  const isBehind = outbox?.entries.some(
    (each) => each.seq < seq && each.about === about && each.state === "refused" && each.path === "/api/cars",
  );
  if (isBehind === true) return words.t("queue.behind");
  if (person === null) return words.t(who === null ? "queue.why-sign-in" : "queue.why-sign-in-as", { who: who ?? "" });
  if (who !== null && who !== person) return words.t("queue.why-other", { who });
  return words.t("queue.why-no-answer");
}
