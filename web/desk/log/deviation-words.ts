/** The names of deviations, short enough for a table. */
import type { DeviationView } from "../../../predictor/serve/proof-api.ts";
import type { Words } from "../../../words/words.ts";

type Code = DeviationView["code"];

const codes: Record<Code, true> = {
  "sprayed-outside-limits": true,
  "limits-not-judged": true,
  "no-prediction": true,
  gap: true,
  "dried-outside-limits": true,
  "window-missed": true,
  "covered-early": true,
  "not-ready-when-safe": true,
};
/** In the order in which they are told. */
export const deviationCodes = Object.keys(codes) as Code[];

export const deviationName = (code: Code, words: Words): string => words.t(`deviation.${code}`);
