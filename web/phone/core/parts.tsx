/** What pages are made of: the page itself, what is pressed, what is chosen, and what became of an entry. */
import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { signInPath } from "../../parts/router.ts";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, fateIn } from "./enter.ts";
import { useShell } from "./shell.tsx";
import { ArrowBack, PersonSign } from "./signs.tsx";
import "./core.css";

interface PageProps {
  title: string;
  /** Where the arrow leads; no arrow when absent. */
  back?: string | undefined;
  /** Within reach of the thumb, at the bottom. */
  actions?: ComponentChildren;
  children?: ComponentChildren;
}

/** One page: its title is the browser's and is spoken when one comes to it. */
export function Page({ title, back, actions, children }: PageProps) {
  const { go, me, path, search } = useShell();
  const words = useWords();
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus({ preventScroll: true }), []);
  useEffect(() => {
    document.title = `${title} – Coatclock`;
  }, [title]);
  const who = me?.person?.name ?? null;
  return (
    <div class="page">
      <header class="page-head">
        {back !== undefined && (
          <button type="button" class="page-sign" aria-label={words.t("shell.back")} onClick={() => go(back)}>
            <ArrowBack />
          </button>
        )}
        <h1 ref={heading} tabIndex={-1}>
          {title}
        </h1>
        {path !== "/sign-in" && path !== "/set-up" && (
          <a class="page-sign page-who" href={who === null ? signInPath(path, search) : "/settings"}>
            <PersonSign isIn={who !== null} />
            <span>{who ?? words.t("shell.nobody")}</span>
          </a>
        )}
      </header>
      <main class="page-main">{children}</main>
      {hasContent(actions) && <div class="page-actions">{actions}</div>}
    </div>
  );
}

const hasContent = (children: ComponentChildren): boolean =>
  Array.isArray(children)
    ? children.some(hasContent)
    : children !== undefined && children !== null && typeof children !== "boolean";

/** A glove that trembles presses twice: the second within this time counts as the same press (our choice). */
const samePressMs = 600;

interface ActionButtonProps {
  onClick?: (() => void) | undefined;
  /** `main` is what the page is for, 19 mm high; `danger` takes something away. */
  kind?: "main" | "plain" | "danger" | undefined;
  disabled?: boolean | undefined;
  /** For a button within a form. */
  type?: "button" | "submit" | undefined;
  children: ComponentChildren;
}

export function ActionButton({
  onClick,
  kind = "plain",
  disabled = false,
  type = "button",
  children,
}: ActionButtonProps) {
  const pressedMs = useRef(Number.NEGATIVE_INFINITY);
  return (
    <button
      type={type}
      class={`action action-${kind}`}
      disabled={disabled}
      onClick={({ timeStamp }) => {
        if (timeStamp - pressedMs.current < samePressMs) return;
        pressedMs.current = timeStamp;
        onClick?.();
      }}
    >
      {children}
    </button>
  );
}

export interface ChoiceOption<Value extends string> {
  value: Value;
  text: string;
  /** Said below it, smaller. */
  detail?: string | undefined;
}

interface ChoiceProps<Value extends string> {
  /** What is chosen, in words. */
  label: string;
  options: readonly ChoiceOption<Value>[];
  /** Null while nothing is chosen. */
  value: Value | null;
  onChange(value: NoInfer<Value>): void;
}

/** One of several, each as large as a finger in a glove. */
export function Choice<Value extends string>({ label, options, value, onChange }: ChoiceProps<Value>) {
  const name = useId();
  return (
    <fieldset class="choice">
      <legend>{label}</legend>
      {options.map((option) => (
        <label key={option.value} class={option.value === value ? "chosen" : ""}>
          <input
            type="radio"
            name={name}
            value={option.value}
            checked={option.value === value}
            onChange={() => onChange(option.value)}
          />
          <span>
            {option.text}
            {option.detail !== undefined && <small>{option.detail}</small>}
          </span>
        </label>
      ))}
    </fieldset>
  );
}

/** What became of an entry; what waits on the phone is followed on. */
export function SaidAs({ result }: { result: Entered }) {
  const { outbox } = useShell();
  const words = useWords();
  const key = "key" in result ? result.key : undefined;
  const now: Entered = key === undefined || outbox === null ? result : (fateIn(outbox, key) ?? { state: "sent" });
  const line = useRef<HTMLParagraphElement>(null);
  // It may stand below what is in sight.
  useEffect(() => line.current?.scrollIntoView({ block: "center" }), [result]);
  return (
    <p
      ref={line}
      class={`said-as said-as-${now.state.replace(" ", "-")}`}
      role={now.state === "refused" ? "alert" : "status"}
    >
      {now.state === "sent" && words.t("queue.said-sent")}
      {now.state === "waiting" && words.t("queue.said-waiting")}
      {now.state === "sign in" && words.t("queue.said-sign-in")}
      {now.state === "refused" && words.t("queue.said-refused", { detail: now.detail })}
    </p>
  );
}
