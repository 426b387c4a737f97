/** Every stage of a coat with its times, as a table. */
import type { CoatView } from "../../../predictor/serve/api.ts";
import { stateWord } from "../../parts/coat-words.ts";
import { StateShape } from "../../parts/shapes.tsx";
import { capital, type ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { useShell } from "../core/shell.tsx";

/** Nothing while there is no prediction. */
export function Stages({ coat, clock }: { coat: CoatView; clock: ShopClock }) {
  const { nowMs } = useShell();
  const words = useWords();
  if (coat.prediction === null) return null;
  const at = (iso: string | null) => (iso === null ? "–" : clock.when(Date.parse(iso), nowMs));
  return (
    <table class="stages">
      <caption class="unseen">{words.t("coat.stages")}</caption>
      <thead>
        <tr>
          <th scope="col">{words.t("coat.stage")}</th>
          <th scope="col">{words.t("time.likely")}</th>
          <th scope="col">{words.t("time.safe")}</th>
        </tr>
      </thead>
      <tbody>
        {coat.prediction.stages.map(({ stage, state, likelyAt, safeAt }) => (
          <tr key={stage}>
            <th scope="row">
              <StateShape mark={state} />
              {capital(words.t(`stage.${stage}`))} <small>{stateWord(state, words)}</small>
            </th>
            <td>{at(likelyAt)}</td>
            <td>{at(safeAt)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
