/** One limit of the spray check in words and figures. */
import type { LimitView } from "../../predictor/serve/api.ts";
import type { Words } from "../../words/words.ts";

const figure = (what: LimitView["what"], value: number, words: Words): string =>
  what === "humidity"
    ? `${words.number(value, 0)} %`
    : what === "dew-point margin"
      ? words.difference(value)
      : words.temperature(value);

/** A difference from a bound: no offset between the temperature scales. */
const apart = (what: LimitView["what"], value: number, words: Words): string =>
  what === "humidity" ? `${words.number(value, 0)} %` : words.difference(value);

export interface LimitWords {
  name: string;
  /** As measured; a dash where nothing current tells. */
  value: string;
  /** "15 °C to 30 °C", "at most 75 %"; nothing where the sheet sets no bound. */
  bounds: string;
  /** "3 °C inside", "2 °C outside". */
  margin: string;
  source: string;
}

export function boundsWords(what: LimitView["what"], min: number | null, max: number | null, words: Words): string {
  const at = (bound: number) => figure(what, bound, words);
  if (min !== null && max !== null) return words.t("span.temperatures", { from: at(min), to: at(max) });
  if (min !== null) return words.t("limit.at-least", { bound: at(min) });
  return max === null ? words.t("limit.no-bound") : words.t("limit.at-most", { bound: at(max) });
}

export function limitWords({ what, value, min, max, margin, source }: LimitView, words: Words): LimitWords {
  return {
    name: words.named("quantity", what),
    value: value === null ? "–" : figure(what, value, words),
    bounds: boundsWords(what, min, max, words),
    margin:
      value === null
        ? words.t("limit.not-measured")
        : margin === null
          ? ""
          : margin >= 0
            ? words.t("limit.inside", { by: apart(what, margin, words) })
            : words.t("limit.outside", { by: apart(what, -margin, words) }),
    source: words.t(source === "sheet" ? "limit.by-sheet" : "limit.by-practice"),
  };
}
