/** Every warning that holds: what is the matter, what follows, what to do, how long there is; answered or set aside here. */
import { useState } from "preact/hooks";
import type { Warning, WarningsView } from "../../../predictor/serve/api.ts";
import { WarningShape } from "../../parts/shapes.tsx";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { Reason } from "../coats/reason.tsx";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Choice, Page, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { setAsideMinutes, usualAnswers, usualReasons } from "./warning-answers.ts";
import "./warnings.css";
import "./work.css";

const askAgainMs = 10_000;

type FoldedWarning = Pick<Warning, "id" | "text" | "answer" | "setAside"> & { endedAt?: string };

type Task = { kind: "answer" | "set aside"; warning: Warning };

export function WarningsPage() {
  const words = useWords();
  const { answer: view, failure, look } = useAsked<WarningsView>("/api/warnings", askAgainMs);
  const [task, setTask] = useState<Task | null>(null);
  const [entered, setEntered] = useState<Entered | null>(null);

  if (task !== null) {
    const done = (result: Entered | null) => {
      setTask(null);
      setEntered(result);
      look();
    };
    return task.kind === "answer" ? (
      <Answering warning={task.warning} done={done} />
    ) : (
      <SettingAside warning={task.warning} done={done} />
    );
  }
  const inState = (state: Warning["state"]) => view?.warnings.filter((warning) => warning.state === state) ?? [];
  const open = inState("open");
  return (
    <Page title={words.t("warnings.title")} back="/">
      {entered !== null && <SaidAs result={entered} />}
      {failure !== null && (
        <p class="work-failure" role="alert">
          {failure}
        </p>
      )}
      {view === null && failure === null && <p role="status">{words.t("warnings.loading")}</p>}
      {view !== null && open.length === 0 && <p class="work-empty">{words.t("warnings.none")}</p>}
      <ul class="warnings">
        {open.map((warning) => (
          <OpenWarning key={warning.id} warning={warning} take={setTask} />
        ))}
      </ul>
      <Folded title={words.t("warnings.set-aside")} warnings={inState("set aside")} />
      <Folded title={words.t("warnings.answered")} warnings={inState("answered")} />
      <Folded title={words.t("warnings.ended")} warnings={view?.ended ?? []} />
    </Page>
  );
}

function OpenWarning({ warning, take }: { warning: Warning; take: (task: Task) => void }) {
  const { cars, clock, nowMs, go } = useShell();
  const words = useWords();
  const { text, consequence, action, urgency, until, since, carId } = warning;
  const nameOf = (place: string) => cars?.places.find(({ id }) => id === place)?.name ?? place;
  const place = [warning.place, ...warning.alsoAt].map(nameOf).join(", ");
  const at = (iso: string) => clock?.when(Date.parse(iso), nowMs) ?? "";
  return (
    <li class={`warning-card warning-${urgency}`}>
      <p class="warning-says">
        <WarningShape urgency={urgency} />
        <b>{text}</b>
      </p>
      <p class="warning-how-long">
        {words.t(`warnings.urgency-${urgency}`)}
        {until !== null && `, ${words.t("warnings.until", { time: at(until) })}`}
        {" · "}
        {words.t("warnings.in-place", { place, since: words.t("warnings.since", { time: at(since) }) })}
      </p>
      <p>{words.t("warnings.to-do", { action })}</p>
      <p class="warning-else">{words.t("warnings.follows", { consequence })}</p>
      <div class="work-row">
        <button type="button" class="work-switch" onClick={() => take({ kind: "answer", warning })}>
          {words.t("warnings.answer")}
        </button>
        <button type="button" class="work-switch" onClick={() => take({ kind: "set aside", warning })}>
          {words.t("warnings.later")}
        </button>
        {carId !== null && (
          <button type="button" class="work-switch" onClick={() => go(`/cars/${carId}`)}>
            {words.t("warnings.open-car")}
          </button>
        )}
      </div>
    </li>
  );
}

interface TaskProps {
  warning: Warning;
  done: (result: Entered | null) => void;
}

function Answering({ warning, done }: TaskProps) {
  const words = useWords();
  const [own, setOwn] = useState("");
  const send = async (text: string) => {
    const body = { warning: warning.id, done: text };
    const label = words.t("warnings.entry-answer", { text: warning.text });
    done(await enter({ method: "POST", path: "/api/warnings/answers", body, label }));
  };
  return (
    <Page
      title={words.t("warnings.answer")}
      actions={
        <ActionButton kind="plain" onClick={() => done(null)}>
          {words.t("warnings.cancel")}
        </ActionButton>
      }
    >
      <p class="work-about">{warning.text}</p>
      {usualAnswers(warning.rule).map((key) => (
        <ActionButton key={key} kind="main" onClick={() => void send(words.t(key))}>
          {words.t(key)}
        </ActionButton>
      ))}
      <label class="work-pick">
        <span>{words.t("warnings.done-other")}</span>
        <input value={own} maxLength={200} onInput={(event) => setOwn(event.currentTarget.value)} />
      </label>
      {own.trim() !== "" && (
        <ActionButton kind="main" onClick={() => void send(own.trim())}>
          {words.t("warnings.send")}
        </ActionButton>
      )}
    </Page>
  );
}

function SettingAside({ warning, done }: TaskProps) {
  const words = useWords();
  const [minutes, setMinutes] = useState<string>(String(setAsideMinutes[0]));
  const send = async (reason: string) => {
    const body = { warning: warning.id, minutes: Number(minutes), reason };
    const label = words.t("warnings.entry-aside", { text: warning.text });
    done(await enter({ method: "POST", path: "/api/warnings/set-aside", body, label }));
  };
  return (
    <Page
      title={words.t("warnings.later")}
      actions={
        <ActionButton kind="plain" onClick={() => done(null)}>
          {words.t("warnings.cancel")}
        </ActionButton>
      }
    >
      <p class="work-about">{warning.text}</p>
      <Choice
        label={words.t("warnings.later")}
        options={setAsideMinutes.map((each) => ({
          value: String(each),
          text: words.t("warnings.for-minutes", { minutes: each }),
        }))}
        value={minutes}
        onChange={setMinutes}
      />
      <Reason usual={usualReasons} onReason={(reason) => void send(reason)} />
    </Page>
  );
}

function Folded({ title, warnings }: { title: string; warnings: readonly FoldedWarning[] }) {
  const { clock, nowMs } = useShell();
  const words = useWords();
  if (warnings.length === 0 || clock === null) return null;
  const at = (iso: string) => clock.when(Date.parse(iso), nowMs);
  return (
    <details class="work-folded">
      <summary>{`${title} (${warnings.length})`}</summary>
      <ul>
        {warnings.map(({ id, text, answer, setAside, endedAt }) => (
          <li key={id}>
            <b>{text}</b>
            {endedAt !== undefined && <span>{words.t("warnings.ended-at", { time: at(endedAt) })}</span>}
            {answer !== null && (
              <span>
                {words.t("warnings.answered-by", { who: answer.who, time: at(answer.at), done: answer.done })}
              </span>
            )}
            {answer === null && setAside !== null && (
              <span>
                {words.t("warnings.aside-by", {
                  who: setAside.who,
                  time: at(setAside.until),
                  reason: setAside.reason,
                })}
              </span>
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}
