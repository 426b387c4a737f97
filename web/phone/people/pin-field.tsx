/** A PIN as a field of a form. */
import { longestPin, shortestPin } from "./pin.ts";

interface Props {
  label: string;
  value: string;
  onChange(value: string): void;
  /** To be handed over: whoever enters it must be able to read it. */
  isShown?: boolean;
  autocomplete?: "current-password" | "new-password" | "off";
}

export function PinField({ label, value, onChange, isShown = false, autocomplete = "off" }: Props) {
  return (
    <label class="field">
      <span>{label}</span>
      <input
        {...(isShown ? { type: "text" } : { type: "password" })}
        inputMode="numeric"
        pattern="[0-9]*"
        minLength={shortestPin}
        maxLength={longestPin}
        autocomplete={autocomplete}
        value={value}
        onInput={(event) => onChange(event.currentTarget.value)}
      />
    </label>
  );
}
