/** One row a sensor and quantity, the worst first as the predictor sends them. */
import type { SensorView } from "../../../predictor/serve/sensor-api.ts";
import { ageText, capital } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { HealthShape } from "./health-shape.tsx";
import { apartText, correctionText, dayText, healthKey, quantityText, signedText, valueText } from "./sensor-words.ts";

export function SensorTable({ sensors }: { sensors: readonly SensorView[] }) {
  const words = useWords();
  return (
    <table class="desk-table sensors">
      <thead>
        <tr>
          <th scope="col">{words.t("sensors.column-sensor")}</th>
          <th scope="col">{words.t("sensors.column-health")}</th>
          <th scope="col">{words.t("sensors.column-newest")}</th>
          <th scope="col">{words.t("sensors.column-calibration")}</th>
          <th scope="col">{words.t("sensors.column-correction")}</th>
          <th scope="col">{words.t("sensors.column-neighbour")}</th>
        </tr>
      </thead>
      <tbody>
        {sensors.map((sensor) => (
          <SensorRow key={`${sensor.place.id} ${sensor.sensor} ${sensor.quantity} ${sensor.role}`} sensor={sensor} />
        ))}
      </tbody>
    </table>
  );
}

function SensorRow({ sensor }: { sensor: SensorView }) {
  const words = useWords();
  const { place, quantity, role, health, troubles } = sensor;
  return (
    <tr class={`sensor-${health === "sound" || health === "awaited" ? "calm" : "wrong"}`}>
      <th scope="row">
        <span class="sensor-place">{place.name}</span> {quantityText(quantity, words)}
        <small>{sensor.sensor}</small>
        {role === "compared" && <small>{words.t("sensors.compared-only")}</small>}
      </th>
      <td>
        <span class="sensor-health">
          <HealthShape health={health} />
          {words.t(healthKey(health))}
        </span>
        {troubles.map(({ text, action }) => (
          <p key={text}>
            {capital(text)}. {action}
          </p>
        ))}
        <CollectorLines sensor={sensor} />
      </td>
      <td data-name={words.t("sensors.column-newest")}>
        <Newest sensor={sensor} />
      </td>
      <td data-name={words.t("sensors.column-calibration")}>
        <Calibration sensor={sensor} />
      </td>
      <td data-name={words.t("sensors.column-correction")}>
        <Correction sensor={sensor} />
      </td>
      <td data-name={words.t("sensors.column-neighbour")}>
        <Neighbour sensor={sensor} />
      </td>
    </tr>
  );
}

/** Only what is amiss: that a collector is there says nothing of the sensor. */
function CollectorLines({ sensor: { collector, sensor } }: { sensor: SensorView }) {
  const words = useWords();
  const { nowMs } = useDesk();
  if (collector === null) return null;
  const name = sensor.split("/")[0] ?? sensor;
  const since = { timeMs: Date.parse(collector.since), nowMs };
  return (
    <>
      {!collector.isOnline && <p>{words.t("sensors.collector-away", { collector: name, since })}</p>}
      {collector.packsWaiting > 0 && (
        <p>{words.t("sensors.collector-waiting", { collector: name, count: collector.packsWaiting })}</p>
      )}
    </>
  );
}

function Newest({ sensor: { newest, quantity } }: { sensor: SensorView }) {
  const words = useWords();
  const { nowMs } = useDesk();
  if (newest === null) return <>{words.t("sensors.awaited")}</>;
  const age = ageText(nowMs - Date.parse(newest.at), words);
  return (
    <>
      <span class={newest.isUsed ? "sensor-value" : "sensor-value sensor-unused"}>
        {valueText(quantity, newest.value, words)}
      </span>
      <small>
        {words.t("sensors.age", { age })}
        {!newest.isUsed && `, ${words.t("sensors.bad-value")}`}
      </small>
    </>
  );
}

function Calibration({ sensor: { setting, due } }: { sensor: SensorView }) {
  const words = useWords();
  const { calibrated, reference } = setting;
  const date = setting.due === null ? "" : dayText(setting.due, words);
  return (
    <>
      {calibrated === null
        ? words.t("sensors.calibrated-never")
        : words.t("sensors.calibrated", { date: dayText(calibrated, words) })}
      {reference !== null && <small>{reference}</small>}
      {due === "undated" && <small>{words.t("sensors.due-none")}</small>}
      {due === "later" && <small>{words.t("sensors.due", { date })}</small>}
      {(due === "over" || due === "soon") && (
        <strong class={`sensor-due sensor-due-${due}`}>
          {words.t(due === "over" ? "sensors.due-over" : "sensors.due-soon", { date })}
        </strong>
      )}
      {(due === "over" || due === "soon") && <small>{words.t("warn.calibration.do")}</small>}
    </>
  );
}

function Correction({ sensor: { quantity, setting, isCorrected, history, sensor } }: { sensor: SensorView }) {
  const words = useWords();
  const named = { sensor, quantity: quantityText(quantity, words) };
  return (
    <>
      {correctionText(quantity, setting, words)}
      {!isCorrected && <small>{words.t("sensors.not-corrected")}</small>}
      {history.length === 0 ? (
        <small>{words.t("sensors.history-none")}</small>
      ) : (
        <details>
          <summary>{words.t("sensors.history", { count: history.length })}</summary>
          <ol class="sensor-history" aria-label={words.t("sensors.history-of", named)}>
            {history.map((was) => (
              <li key={was.at}>
                <time dateTime={was.at}>{words.dateTime(Date.parse(was.at))}</time>
                <span>{correctionText(quantity, was, words)}</span>
                {was.calibrated !== null && (
                  <span>{words.t("sensors.calibrated", { date: dayText(was.calibrated, words) })}</span>
                )}
                {was.reference !== null && <span>{was.reference}</span>}
                {was.due !== null && <span>{words.t("sensors.due", { date: dayText(was.due, words) })}</span>}
              </li>
            ))}
          </ol>
        </details>
      )}
    </>
  );
}

function Neighbour({ sensor: { quantity, neighbour } }: { sensor: SensorView }) {
  const words = useWords();
  if (neighbour === null) return <span class="hint">{words.t("sensors.neighbour-none")}</span>;
  const { sensor: other, difference } = neighbour;
  if (difference === null) return <>{words.t("sensors.neighbour-unknown", { other })}</>;
  const { byMedian, overHours } = difference;
  const apart = Math.abs(byMedian) < 0.05 ? apartText(quantity, 0, words) : signedText(quantity, byMedian, words);
  return (
    <>
      {words.t("sensors.apart", { apart, other })}
      <small>{words.t("sensors.apart-over", { hours: overHours })}</small>
    </>
  );
}
