/** The number pad of a PIN: for a finger in a glove, and for a keyboard. */
import { useEffect, useRef } from "preact/hooks";
import { useWords } from "../../parts/words-context.ts";
import { longestPin, shortestPin } from "./pin.ts";

const digits = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];

interface Props {
  pin: string;
  onChange(pin: string): void;
  onDone(): void;
  /** While the answer is on its way. */
  busy: boolean;
}

export function PinPad({ pin, onChange, onDone, busy }: Props) {
  const words = useWords();
  const isDone = pin.length >= shortestPin && !busy;
  const press = (digit: string) => {
    if (!busy && pin.length < longestPin) onChange(pin + digit);
  };
  const rubOut = () => {
    if (!busy) onChange(pin.slice(0, -1));
  };
  const keys = useRef({ press, rubOut, onDone, isDone });
  keys.current = { press, rubOut, onDone, isDone };
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const now = keys.current;
      if (/^\d$/.test(event.key)) now.press(event.key);
      else if (event.key === "Backspace") now.rubOut();
      // On a button of the pad, Enter presses that button.
      else if (event.key === "Enter" && now.isDone && !(event.target instanceof HTMLButtonElement)) now.onDone();
      else return;
      event.preventDefault();
    };
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  }, []);
  return (
    <fieldset class="pin" aria-label={words.t("pin.label")}>
      <output class="pin-dots">
        <span aria-hidden="true">{"●".repeat(pin.length)}</span>
        <span class="unseen">{words.t("pin.count", { count: pin.length })}</span>
      </output>
      <div class="pin-pad">
        {digits.map((digit) => (
          <button key={digit} type="button" onClick={() => press(digit)}>
            {digit}
          </button>
        ))}
        <button type="button" class="pin-word" disabled={pin === "" || busy} onClick={rubOut}>
          {words.t("pin.rub-out")}
        </button>
        <button type="button" onClick={() => press("0")}>
          0
        </button>
        <button type="button" class="pin-word pin-done" disabled={!isDone} onClick={onDone}>
          {words.t("pin.done")}
        </button>
      </div>
    </fieldset>
  );
}
