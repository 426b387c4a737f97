/** How well the predictions hold: told beside found, what was learned, the promise of safe, drift, coats and energy. */
import type { PredictionsView } from "../../../predictor/serve/prediction-api.ts";
import { inChosenLanguage } from "../../parts/device-memory.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { Calibration } from "./calibration.tsx";
import { CoatsOfSpan } from "./coats-of-span.tsx";
import { EnergySaved } from "./energy-saved.tsx";
import { Filters } from "./filters.tsx";
import "./predictions.css";
import { SheetSection } from "./sheet-section.tsx";

export function PredictionsPage() {
  const { search } = useDesk();
  const words = useWords();
  const { answer, failure, look } = useAsked<PredictionsView>(`/api/predictions${search}`);
  return (
    <DeskPage title={words.t("desk.predictions")}>
      <p>{words.t("predictions.intro")}</p>
      <p class="hint">{words.t("caution.ready")}</p>
      {failure !== null && (
        <section class="prediction-notice" role="alert">
          <h2>{words.t("predictions.failed")}</h2>
          <p>{failure}</p>
          <p>
            <button type="button" class="desk-button" onClick={look}>
              {words.t("predictions.show")}
            </button>
          </p>
        </section>
      )}
      {failure === null && answer === null && <p role="status">{words.t("predictions.working")}</p>}
      {answer !== null && <Answer view={answer} search={search} />}
    </DeskPage>
  );
}

function Answer({ view, search }: { view: PredictionsView; search: string }) {
  const words = useWords();
  const tableHref = (table: string) => {
    const asked = new URLSearchParams(search);
    asked.set("table", table);
    return inChosenLanguage(`/api/predictions.csv?${asked}`);
  };
  return (
    <>
      <Filters view={view} />
      {view.sheets.length === 0 ? (
        <section class="prediction-notice">
          <h2>{words.t("predictions.empty")}</h2>
          <p>{words.t("predictions.empty-hint")}</p>
        </section>
      ) : (
        <Calibration view={view} csv={tableHref("calibration")} />
      )}
      {view.sheets.map((each) => (
        <SheetSection
          key={`${each.sheet.id}/${each.sheet.revision}`}
          view={each}
          fewest={view.fewest}
          tableHref={tableHref}
        />
      ))}
      <CoatsOfSpan span={view.span} csv={tableHref("coats")} />
      <EnergySaved energy={view.energy} />
    </>
  );
}
