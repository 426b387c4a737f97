/** The one warning that matters most: what is the matter, then what to do. */
import { useRef } from "preact/hooks";
import type { Warning } from "../../predictor/serve/api.ts";
import { useFit, useWidth } from "../parts/use-size.ts";

const exclamation = {
  now: "M3 2 h14 l-3 22 h-8 Z M5 28 h10 v8 h-10 Z",
  soon: "M7 2 h6 v22 h-6 Z M7 28 h6 v8 h-6 Z",
} as const;

/** `warnings` has the most urgent first. Without any, the live region stays, empty, so that the next one is announced. */
export function WarningLine({ warnings }: { warnings: readonly Warning[] }) {
  const [first, ...others] = warnings;
  const text = useRef<HTMLElement>(null);
  const action = useRef<HTMLSpanElement>(null);
  useFit(text, first?.text ?? "", useWidth(text), 0.6);
  useFit(action, first?.action ?? "", useWidth(action), 0.6);
  return (
    <footer class={`warning${first === undefined ? "" : ` warning-${first.urgency}`}`}>
      {first !== undefined && (
        <svg class="shape" viewBox="0 0 20 38" aria-hidden="true" focusable="false">
          <path class="solid" d={exclamation[first.urgency]} />
        </svg>
      )}
      <p role="status">
        <b ref={text}>{first?.text}</b> <span ref={action}>{first?.action}</span>
      </p>
      {others.length > 0 && <small>{`and ${others.length} more`}</small>}
    </footer>
  );
}
