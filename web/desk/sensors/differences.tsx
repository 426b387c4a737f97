/** Neighbours compared: what the first of two sensors read above the second, over the last days. */
import type { DifferencesView, DifferenceView } from "../../../predictor/serve/sensor-api.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DifferenceChart } from "./difference-chart.tsx";
import { Failed } from "./failed.tsx";
import { apartText, quantityText, signedText } from "./sensor-words.ts";

const days = 7;
const lookEveryMs = 600_000;

export function Differences() {
  const words = useWords();
  const { answer, failure } = useAsked<DifferencesView>(`/api/sensors/differences?days=${days}`, lookEveryMs);
  return (
    <section aria-labelledby="differences">
      <h2 id="differences">{words.t("sensors.differences")}</h2>
      {failure !== null && <Failed text={words.t("sensors.differences-failed", { failure })} />}
      {failure === null && answer === null && <p role="status">{words.t("page.looking")}</p>}
      {answer?.pairs.length === 0 && <p>{words.t("sensors.differences-none")}</p>}
      <div class="differences">
        {answer?.pairs.map((pair) => (
          <Pair key={`${pair.place.id} ${pair.quantity}`} pair={pair} />
        ))}
      </div>
    </section>
  );
}

function Pair({ pair }: { pair: DifferenceView }) {
  const words = useWords();
  const { place, quantity, sensors, atFirst, lately, beyond, bound } = pair;
  const [first, second] = sensors;
  return (
    <article class="difference">
      <h3>
        {place.name}, {quantityText(quantity, words)}
      </h3>
      <p class="hint">{words.t("sensors.minus", { first, second, days })}</p>
      {atFirst === null || lately === null ? (
        <p>{words.t("sensors.trail-none")}</p>
      ) : (
        <>
          <DifferenceChart pair={pair} />
          <p>
            {words.t("sensors.lately", {
              lately: signedText(quantity, lately, words),
              first: signedText(quantity, atFirst, words),
            })}{" "}
            <Standing beyond={beyond} bound={apartText(quantity, bound, words)} />
          </p>
          {beyond !== null && <p>{words.t(quantity === "air-humidity" ? "sensors.solvent" : "warn.disagree.do")}</p>}
        </>
      )}
    </article>
  );
}

function Standing({ beyond, bound }: { beyond: DifferenceView["beyond"]; bound: string }) {
  const words = useWords();
  const { nowMs } = useDesk();
  if (beyond === null) return <>{words.t("sensors.within", { bound })}</>;
  const since = { timeMs: Date.parse(beyond.since), nowMs };
  return <strong>{words.t(beyond.orBefore ? "sensors.beyond-or-before" : "sensors.beyond", { bound, since })}</strong>;
}
