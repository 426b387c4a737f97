/** The project's own shapes. A state's shape is the piece of the rail it stands for: bare post and tail, filled tail, laid tape. */
import type { PotView, Verdict, Warning } from "../../predictor/serve/api.ts";
import type { Mark } from "./coat-words.ts";

const tape = "M2 9 H34 l-3 4 3 4 -4 4 4 4 -3 4 H2 l3 -5 -3 -5 3 -5 Z";

/** A coat's state as a shape; the word always stands beside it. */
export function StateShape({ mark }: { mark: Mark }) {
  return (
    <svg class={`shape shape-${mark.replace(" ", "-")}`} viewBox="0 0 38 38" aria-hidden="true" focusable="false">
      {mark === "ready" && (
        <>
          <path class="fill" d={tape} />
          <path class="cut" d="M10 19 l6 6 11 -11" />
        </>
      )}
      {mark === "check first" && <path class="fill" d="M4 3 h4 v4 L36 19 8 31 v4 h-4 Z" />}
      {mark === "not yet" && <path class="line" d="M6 3 v32 M6 8 L33 19 6 30" />}
      {mark === "unknown" && <path class="line" d="M4 19 h5 M14 19 h5 M24 19 h5 M34 19 h2" />}
    </svg>
  );
}

/** A gate on the rail: two posts, open, closing in, or shut. */
export function GateShape({ state }: { state: "open" | "closing" | "missed" }) {
  return (
    <svg class="shape shape-gate" viewBox="0 0 38 38" aria-hidden="true" focusable="false">
      <path class="line" d="M5 4 v30 M33 4 v30" />
      {state === "open" && <path class="line" d="M5 9 l6 3 v14 l-6 3 M33 9 l-6 3 v14 l6 3" />}
      {state === "closing" && <path class="line" d="M5 9 h10 v20 h-10 M33 9 h-10 v20 h10" />}
      {state === "missed" && <path class="line" d="M5 9 h28 v20 h-28 M5 9 l28 20" />}
    </svg>
  );
}

/** A sheet, and something beside it: what the sheet does not cover. */
export function UncoveredShape() {
  return (
    <svg class="shape shape-uncovered" viewBox="0 0 38 38" aria-hidden="true" focusable="false">
      <path class="line" d="M4 4 h18 v30 h-18 Z M9 12 h8 M9 19 h8 M9 26 h8" />
      <path class="solid" d="M26 15 h10 v8 h-10 Z" />
    </svg>
  );
}

/** A mixed pot: brim-full, a last rest in it, set solid with the stick in it, or a broken outline while nothing tells of its life. */
export function PotShape({ state }: { state: PotView["state"] }) {
  return (
    <svg class={`shape shape-pot pot-${state}`} viewBox="0 0 38 38" aria-hidden="true" focusable="false">
      <path class="line" d="M6 9 L10 35 H28 L32 9" stroke-dasharray={state === "unknown" ? "5 5" : undefined} />
      {state === "good" && <path class="solid" d="M9 14 H29 L26.5 33 H11.5 Z" />}
      {state === "closing" && <path class="solid" d="M10.8 27 H27.2 L26.5 33 H11.5 Z" />}
      {state === "over" && <path class="solid" d="M9 14 H17 L24 1 l5 2 -6 11 H29 L26.5 33 H11.5 Z" />}
    </svg>
  );
}

/** The spray verdict: a fan from a nozzle that is whole, thinned out, or shut off by a bar; a broken outline without a verdict. */
export function VerdictShape({ state }: { state: Verdict["state"] }) {
  return (
    <svg class="shape shape-verdict" viewBox="0 0 44 38" aria-hidden="true" focusable="false">
      {state === "spray" && <path class="solid" d="M1 15 h8 v8 h-8 Z M11 19 L42 3 v32 Z" />}
      {state === "spray with care" && (
        <path class="solid" d="M1 15 h8 v8 h-8 Z M11 19 L42 3 v8 Z M11 19 L42 16 v6 Z M11 19 L42 27 v8 Z" />
      )}
      {state === "do not spray" && <path class="solid" d="M1 15 h8 v8 h-8 Z M13 3 h9 v32 h-9 Z M27 3 h9 v32 h-9 Z" />}
      {state === "no verdict" && <path class="stroke" d="M1 19 h6 M13 18 L40 4 M13 20 L40 34 M42 8 v6 M42 24 v6" />}
    </svg>
  );
}

const calls: Record<Warning["urgency"], string> = {
  now: "M3 2 h14 l-3 22 h-8 Z M5 28 h10 v8 h-10 Z",
  soon: "M7 2 h6 v22 h-6 Z M7 28 h6 v8 h-6 Z",
  today: "M8 12 h4 v14 h-4 Z M8 30 h4 v4 h-4 Z",
};

/** A warning: a call that is the broader the sooner a hand is wanted. */
export function WarningShape({ urgency }: { urgency: Warning["urgency"] }) {
  return (
    <svg class={`shape shape-warning call-${urgency}`} viewBox="0 0 20 38" aria-hidden="true" focusable="false">
      <path class="solid" d={calls[urgency]} />
    </svg>
  );
}
