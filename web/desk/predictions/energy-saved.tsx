/** What drying in air took, beside the bakes that it stood in for. */
import type { PredictionsView } from "../../../predictor/serve/prediction-api.ts";
import { useWords } from "../../parts/words-context.ts";

export function EnergySaved({ energy }: { energy: PredictionsView["energy"] }) {
  const words = useWords();
  return (
    <section>
      <h2>{words.t("predictions.energy")}</h2>
      {energy === null ? <p>{words.t("predictions.energy-none")}</p> : <Figures energy={energy} />}
    </section>
  );
}

function Figures({ energy }: { energy: NonNullable<PredictionsView["energy"]> }) {
  const words = useWords();
  const { dryings, coats, baked, unknown, currency, assumptions } = energy;
  const rows = [
    ["bakes", energy.bakes],
    ["drying", energy.drying],
    ["saved", energy.saved],
  ] as const;
  return (
    <>
      <p>{words.t("predictions.energy-counts", { dryings, coats, baked, unknown })}</p>
      {dryings > 0 && (
        <table class="desk-table prediction-energy">
          <thead>
            <tr>
              <td />
              <th scope="col">{words.t("what-if.kwh")}</th>
              <th scope="col">{words.t("what-if.cost", { currency })}</th>
              <th scope="col">
                CO<sub>2</sub>, kg
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map(([name, { fuelKWh, fansKWh, cost, co2Kg }]) => (
              <tr key={name} class={name === "saved" ? "prediction-all" : undefined}>
                <th scope="row">{words.t(`predictions.energy-${name}`)}</th>
                <td>{words.number(fuelKWh + fansKWh, 0)}</td>
                <td>{words.number(cost, 2)}</td>
                <td>{words.number(co2Kg, 1)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p class="hint">{words.t("predictions.energy-means")}</p>
      <ul class="prediction-assumptions hint">
        {assumptions.map((assumption) => (
          <li key={assumption}>{assumption}</li>
        ))}
      </ul>
    </>
  );
}
