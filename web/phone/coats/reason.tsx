/** Why something is corrected: the usual reasons as one tap, or in own words. */
import { useState } from "preact/hooks";
import type { TextKey } from "../../../words/text.ts";
import { useWords } from "../../parts/words-context.ts";
import { ActionButton } from "../core/parts.tsx";

interface Props {
  usual: readonly TextKey[];
  /** Nothing to record yet. */
  disabled?: boolean;
  onReason(reason: string): void;
}

const leastLetters = 3;

export function Reason({ usual, disabled = false, onReason }: Props) {
  const words = useWords();
  const [own, setOwn] = useState("");
  return (
    <section class="reason">
      <h2>{words.t("reason.title")}</h2>
      {usual.map((key) => (
        <ActionButton key={key} disabled={disabled} onClick={() => onReason(words.t(key))}>
          {words.t(key)}
        </ActionButton>
      ))}
      <label class="work-pick">
        <span>{words.t("warnings.done-other")}</span>
        <input value={own} maxLength={400} onInput={(event) => setOwn(event.currentTarget.value)} />
      </label>
      {own.trim().length >= leastLetters && (
        <ActionButton kind="main" disabled={disabled} onClick={() => onReason(own.trim())}>
          {words.t("warnings.send")}
        </ActionButton>
      )}
    </section>
  );
}
