/** What to know about a coat's times, in one small paragraph. */
import type { CoatView } from "../../predictor/serve/api.ts";
import { coatNotes } from "./coat-words.ts";
import { UncoveredShape } from "./shapes.tsx";
import type { ShopClock } from "./shop-clock.ts";

interface Props {
  coat: CoatView;
  clock: ShopClock;
  nowMs: number;
  /** A sentence that stands before the notes. */
  before?: string | null;
}

/** Nothing where there is nothing to know. */
export function CoatNotes({ coat, clock, nowMs, before = null }: Props) {
  const notes = coatNotes(coat, clock, nowMs);
  if (notes.length === 0 && before === null) return null;
  return (
    <p class="coat-notes">
      {before !== null && `${before} `}
      {notes.map(({ kind, text }) => (
        <span key={text} class={`coat-note note-${kind}`}>
          {kind === "uncovered" && <UncoveredShape />}
          {text.replace(/\.$/, "")}
          {". "}
        </span>
      ))}
    </p>
  );
}
