/** The sensors: whether they can be believed, how they were corrected, and for how much of each day they spoke. */
import type { SensorsView } from "../../../predictor/serve/sensor-api.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { DeskPage } from "../desk-page.tsx";
import { Coverage } from "./coverage.tsx";
import { Differences } from "./differences.tsx";
import { Failed } from "./failed.tsx";
import { SensorTable } from "./sensor-table.tsx";
import "./sensors.css";

const lookEveryMs = 30_000;

export function SensorsPage() {
  const words = useWords();
  const { answer, failure } = useAsked<SensorsView>("/api/sensors", lookEveryMs);
  return (
    <DeskPage title={words.t("desk.sensors")}>
      <p class="hint">{words.t("sensors.hint")}</p>
      {failure !== null && <Failed text={words.t("sensors.failed", { failure })} />}
      {failure === null && answer === null && <p role="status">{words.t("page.looking")}</p>}
      {answer !== null && <SensorTable sensors={answer.sensors} />}
      <p class="hint">{words.t("sensors.radio")}</p>
      <Differences />
      <Coverage />
    </DeskPage>
  );
}
