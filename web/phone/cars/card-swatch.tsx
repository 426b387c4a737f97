/** The colour of a job card, as a swatch with its word: never the colour alone. */
import type { CarView } from "../../../predictor/serve/api.ts";
import { useWords } from "../../parts/words-context.ts";

export type CardColour = NonNullable<CarView["colour"]>;

export const cardColours: readonly CardColour[] = [
  "red",
  "orange",
  "yellow",
  "green",
  "blue",
  "violet",
  "brown",
  "grey",
  "black",
  "white",
];

export function CardSwatch({ colour }: { colour: CardColour }) {
  const words = useWords();
  return (
    <span class="card-swatch">
      <svg viewBox="0 0 20 26" aria-hidden="true" focusable="false">
        <path class={`card-${colour}`} d="M2 2 H14 L18 6 V24 H2 Z" />
      </svg>
      {words.t(`colour.${colour}`)}
    </span>
  );
}
