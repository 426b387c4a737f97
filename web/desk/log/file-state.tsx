/** What became of a coat, as a shape with its word. */
import type { FileState } from "../../../predictor/serve/proof-api.ts";
import { GateShape, StateShape } from "../../parts/shapes.tsx";
import { useWords } from "../../parts/words-context.ts";

export const fileStates = ["drying", "ready", "released", "held", "withdrawn"] as const satisfies FileState[];

export function FileStateMark({ state }: { state: FileState }) {
  const words = useWords();
  return (
    <span class={`file-state file-${state}`}>
      <Shape state={state} />
      {words.t(`log.state-${state}`)}
    </span>
  );
}

/** Drying and ready as on the rail; a signed sheet, a gate that is shut, a sheet that is crossed out. */
function Shape({ state }: { state: FileState }) {
  if (state === "drying") return <StateShape mark="not yet" />;
  if (state === "ready") return <StateShape mark="ready" />;
  if (state === "held") return <GateShape state="missed" />;
  return (
    <svg class="shape" viewBox="0 0 38 38" aria-hidden="true" focusable="false">
      <path class="line" d="M6 3 h26 v32 h-26 Z" />
      <path class="line" d={state === "released" ? "M11 12 h16 M11 28 c4 -12 7 -11 6 -4 s5 2 10 -2" : "M6 35 L32 3"} />
    </svg>
  );
}
