/** How this reader types figures in this shop. */
import type { Shop } from "../../../predictor/serve/api.ts";
import type { Words } from "../../../words/words.ts";
import type { Typed } from "./draft.ts";

export function typedIn(words: Words, { units }: Pick<Shop, "units">): Typed {
  return { decimal: words.number(0.5, 1).includes(",") ? "," : ".", unit: units.temperature };
}
