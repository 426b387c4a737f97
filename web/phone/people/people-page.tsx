/** The people of the shop: anyone signed in may look, whoever installs adds and changes. */
import { useEffect, useState } from "preact/hooks";
import type { People } from "../../../predictor/serve/people-api.ts";
import { AskFault, ask, tell } from "../../parts/ask.ts";
import { newId } from "../../parts/new-id.ts";
import { useWords } from "../../parts/words-context.ts";
import { ActionButton, Choice, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { newPinFault } from "./pin.ts";
import { PinField } from "./pin-field.tsx";
import "./people.css";

type Person = People["people"][number];
type Role = Person["role"];

/** By how many of them there are in a shop. */
const rolesOffered = ["painter", "quality", "installer"] as const satisfies readonly Role[];

export function PeoplePage() {
  const { me, clock, nowMs } = useShell();
  const words = useWords();
  const [people, setPeople] = useState<readonly Person[] | null>(null);
  const [fault, setFault] = useState<string | null>(null);
  const [said, setSaid] = useState<string | null>(null);
  const [task, setTask] = useState<"add" | { change: string } | null>(null);
  const signedInAs = me?.person?.name ?? null;
  useEffect(() => {
    let isOver = false;
    ask<People>("/api/people").then(
      (view) => {
        if (isOver) return;
        setPeople(view.people);
        setFault(null);
      },
      (error: unknown) => {
        if (!isOver) setFault(error instanceof AskFault ? error.detail : String(error));
      },
    );
    return () => {
      isOver = true;
    };
  }, [signedInAs]);
  const mayChange = me?.person?.role === "installer";
  const done = (view: People, text: string) => {
    setPeople(view.people);
    setSaid(text);
    setTask(null);
  };
  const changed = people?.find(({ name }) => typeof task === "object" && task?.change === name);

  if (task === "add") return <AddPerson done={done} cancel={() => setTask(null)} />;
  if (changed !== undefined) return <ChangePerson person={changed} done={done} cancel={() => setTask(null)} />;
  return (
    <Page
      title={words.t("people.title")}
      back="/settings"
      actions={
        mayChange ? (
          <ActionButton kind="main" onClick={() => setTask("add")}>
            {words.t("people.add")}
          </ActionButton>
        ) : undefined
      }
    >
      {said !== null && (
        <p class="said-as" role="status">
          {said}
        </p>
      )}
      {fault !== null && (
        <p class="said-as said-as-refused" role="alert">
          {fault}
        </p>
      )}
      {people === null && fault === null && <p role="status">{words.t("shell.loading")}</p>}
      {people?.length === 1 && mayChange && <p>{words.t("people.only-you")}</p>}
      {people !== null && !mayChange && <p>{words.t("people.installer-only")}</p>}
      <ul class="people-list">
        {people?.map((person) => {
          const { name, role, isActive, lockedUntil } = person;
          const content = (
            <>
              <b>{name}</b>
              <span class="soft">
                {words.t(`role.${role}`)}
                {!isActive && `, ${words.t("people.inactive")}`}
              </span>
              {lockedUntil !== null && clock !== null && (
                <span class="locked">
                  {words.t("people.locked", { time: clock.when(Date.parse(lockedUntil), nowMs) })}
                </span>
              )}
            </>
          );
          return (
            <li key={name}>
              {mayChange ? (
                <button type="button" class="person-open" onClick={() => setTask({ change: name })}>
                  {content}
                </button>
              ) : (
                <p class="person-open">{content}</p>
              )}
            </li>
          );
        })}
      </ul>
    </Page>
  );
}

interface TaskProps {
  done: (view: People, said: string) => void;
  cancel: () => void;
}

/** Sends one change; each try is another entry, since its PIN may be another. */
function useChange(done: TaskProps["done"]) {
  const [fault, setFault] = useState<string | null>(null);
  const send = async (method: "POST" | "PATCH", path: string, body: object, said: string) => {
    try {
      done(await tell<People>(method, path, body, newId()), said);
    } catch (error) {
      setFault(error instanceof AskFault ? error.detail : String(error));
    }
  };
  return { fault, setFault, send };
}

function useRoleOptions() {
  const words = useWords();
  return rolesOffered.map((role) => ({
    value: role,
    text: words.t(`role.${role}`),
    detail: words.t(`people.may-${role}`),
  }));
}

function AddPerson({ done, cancel }: TaskProps) {
  const words = useWords();
  const [name, setName] = useState("");
  const [role, setRole] = useState<Role>("painter");
  const [pin, setPin] = useState("");
  const { fault, setFault, send } = useChange(done);
  const options = useRoleOptions();
  const add = () => {
    const written = name.trim();
    if (written === "") return setFault(words.t("people.name-missing"));
    const found = newPinFault(pin, pin);
    if (found !== null) return setFault(words.t(found));
    void send("POST", "/api/people", { name: written, role, pin }, words.t("people.added", { name: written }));
  };
  return (
    <Page
      title={words.t("people.add-title")}
      actions={<TaskActions cancel={cancel} text={words.t("people.add")} onClick={add} />}
    >
      <label class="field">
        <span>{words.t("people.name")}</span>
        <input value={name} maxLength={40} autocomplete="off" onInput={(event) => setName(event.currentTarget.value)} />
      </label>
      <Choice label={words.t("people.role")} options={options} value={role} onChange={setRole} />
      <PinField label={words.t("people.first-pin")} value={pin} onChange={setPin} isShown />
      <Fault text={fault} />
    </Page>
  );
}

function ChangePerson({ person, done, cancel }: TaskProps & { person: Person }) {
  const words = useWords();
  const { name, isActive } = person;
  const [role, setRole] = useState<Role>(person.role);
  const [pin, setPin] = useState("");
  const { fault, setFault, send } = useChange(done);
  const options = useRoleOptions();
  const change = (body: object) =>
    void send("PATCH", `/api/people/${encodeURIComponent(name)}`, body, words.t("people.changed", { name }));
  const save = () => {
    const found = pin === "" ? null : newPinFault(pin, pin);
    if (found !== null) return setFault(words.t(found));
    if (pin === "" && role === person.role) return cancel();
    change({ ...(role === person.role ? {} : { role }), ...(pin === "" ? {} : { pin }) });
  };
  return (
    <Page title={name} actions={<TaskActions cancel={cancel} text={words.t("people.save")} onClick={save} />}>
      <Choice label={words.t("people.role")} options={options} value={role} onChange={setRole} />
      <PinField label={words.t("people.new-pin")} value={pin} onChange={setPin} isShown />
      <p>{words.t("people.new-pin-ends")}</p>
      <Fault text={fault} />
      <h2>{words.t(isActive ? "people.leaves" : "people.is-inactive")}</h2>
      <p>{words.t("people.inactive-text")}</p>
      <ActionButton kind={isActive ? "danger" : "plain"} onClick={() => change({ isActive: !isActive })}>
        {words.t(isActive ? "people.deactivate" : "people.activate")}
      </ActionButton>
    </Page>
  );
}

interface TaskActionsProps {
  cancel: () => void;
  text: string;
  onClick: () => void;
}

function TaskActions({ cancel, text, onClick }: TaskActionsProps) {
  const words = useWords();
  return (
    <>
      <ActionButton onClick={cancel}>{words.t("people.cancel")}</ActionButton>
      <ActionButton kind="main" onClick={onClick}>
        {text}
      </ActionButton>
    </>
  );
}

function Fault({ text }: { text: string | null }) {
  return text === null ? null : (
    <p class="said-as said-as-refused" role="alert">
      {text}
    </p>
  );
}
