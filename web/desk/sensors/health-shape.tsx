/** How a sensor does, as the trace that such a sensor writes. */
import type { SensorView } from "../../../predictor/serve/sensor-api.ts";

const traces: Record<SensorView["health"], string> = {
  silent: "M2 22 q4 -12 8 0 M14 22 h2 M22 22 h2 M30 22 h2 M38 22 h2",
  "out of range": "M2 24 q5 -8 10 0 L18 2 M26 2 h12 M2 8 h8 M2 32 h36",
  stuck: "M2 24 q4 -12 8 0 h30 M40 18 v12",
  spike: "M2 26 q4 -6 8 0 L16 26 20 3 24 26 q4 -6 8 0 t8 0",
  disagrees: "M2 20 Q20 20 40 4 M2 20 Q20 20 40 34",
  drifts: "M2 18 Q26 18 40 10 M2 18 Q26 18 40 28",
  "fast change": "M2 30 h10 L26 8 h14 M18 32 l8 -12",
  awaited: "M4 20 h4 M14 20 h4 M24 20 h4 M34 20 h4",
  sound: "M2 20 q5 -10 10 0 t10 0 t10 0 t8 0",
};

export function HealthShape({ health }: { health: SensorView["health"] }) {
  return (
    <svg class="shape sensor-trace" viewBox="0 0 42 36" aria-hidden="true" focusable="false">
      <path class="line" d={traces[health]} />
    </svg>
  );
}
