/** For how many minutes of each day a place's sensors spoke: a grid of places and days. */
import { useState } from "preact/hooks";
import type { CoverageView } from "../../../predictor/serve/sensor-api.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { CoverageGrid } from "./coverage-grid.tsx";
import { Failed } from "./failed.tsx";

const dayChoices = [30, 90] as const;
const lookEveryMs = 300_000;
/** While the predictor has not counted all of it yet. */
const lookSoonMs = 2_000;

export function Coverage() {
  const words = useWords();
  const [days, setDays] = useState<number>(dayChoices[0]);
  const [isPending, setPending] = useState(false);
  const asked = useAsked<CoverageView>(`/api/sensors/coverage?days=${days}`, isPending ? lookSoonMs : lookEveryMs);
  const { answer, failure } = asked;
  if (answer !== null && answer.pending > 0 !== isPending) setPending(answer.pending > 0);
  return (
    <section aria-labelledby="coverage">
      <h2 id="coverage">{words.t("sensors.coverage")}</h2>
      <div class="coverage-choice">
        {dayChoices.map((count) => (
          <button
            key={count}
            type="button"
            class="desk-button"
            aria-pressed={count === days}
            onClick={() => setDays(count)}
          >
            {words.t("sensors.days", { count })}
          </button>
        ))}
      </div>
      {failure !== null && <Failed text={words.t("sensors.coverage-failed", { failure })} />}
      {failure === null && answer === null && <p role="status">{words.t("page.looking")}</p>}
      {answer !== null && (
        <>
          <p class="hint">{words.t("sensors.coverage-hint", { step: answer.stepMinutes })}</p>
          {answer.pending > 0 && <p role="status">{words.t("sensors.coverage-pending", { count: answer.pending })}</p>}
          <CoverageGrid key={days} coverage={answer} />
        </>
      )}
    </section>
  );
}
