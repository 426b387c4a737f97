/** The one warning that matters most: what is the matter, then what to do. */
import { useRef } from "preact/hooks";
import type { Warning } from "../../predictor/serve/api.ts";
import { WarningShape } from "../parts/shapes.tsx";
import { useFit, useWidth } from "../parts/use-size.ts";
import { useWords } from "../parts/words-context.ts";

interface Props {
  /** The most urgent first. Without any, the live region stays, empty, so that the next one is announced. */
  warnings: readonly Warning[];
  /** Where there is room for one line only: which of the two it shows. */
  oneLine?: "text" | "action" | null;
}

export function WarningLine({ warnings, oneLine = null }: Props) {
  const words = useWords();
  const [first, ...others] = warnings;
  const text = useRef<HTMLElement>(null);
  const action = useRef<HTMLSpanElement>(null);
  useFit(text, `${first?.text}${oneLine}`, useWidth(text), 0.6);
  useFit(action, `${first?.action}${oneLine}`, useWidth(action), 0.6);
  const classes = ["warning", first !== undefined && `warning-${first.urgency}`, oneLine !== null && "one-line"];
  return (
    <footer class={classes.filter(Boolean).join(" ")}>
      {first !== undefined && <WarningShape urgency={first.urgency} />}
      <p role={oneLine === null ? "status" : undefined}>
        <b ref={text} class={oneLine === "action" ? "aside" : ""}>
          {first?.text}
        </b>{" "}
        <span ref={action} class={oneLine === "text" ? "aside" : ""}>
          {first?.action}
        </span>
      </p>
      {others.length > 0 && <small>{words.t("wall.more", { count: others.length })}</small>}
    </footer>
  );
}
