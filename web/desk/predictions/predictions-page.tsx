/** How well the predictions hold: told beside found, what was learned, the promise of safe, drift, coats and energy. */
import type { HeldShopsView } from "../../../predictor/serve/office-api.ts";
import type { PredictionsView } from "../../../predictor/serve/prediction-api.ts";
import { inChosenLanguage } from "../../parts/device-memory.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { InShop, useDesk } from "../desk.tsx";
import { DeskPage } from "../desk-page.tsx";
import { Told } from "../told.tsx";
import { Calibration } from "./calibration.tsx";
import { CoatsOfSpan } from "./coats-of-span.tsx";
import { EnergySaved } from "./energy-saved.tsx";
import { Filters } from "./filters.tsx";
import "./predictions.css";
import { SheetSection } from "./sheet-section.tsx";
import { ShopsCompared } from "./shops-compared.tsx";

export function PredictionsPage() {
  const { search, office } = useDesk();
  const words = useWords();
  const shop = new URLSearchParams(search).get("shop");
  return (
    <DeskPage title={words.t("desk.predictions")}>
      <p>{words.t("predictions.intro")}</p>
      <p class="hint">{words.t("caution.ready")}</p>
      {office === null && <OfShop api="/api/predictions" />}
      {office !== null && shop === null && <ShopsCompared />}
      {office !== null && shop !== null && (
        <InShop id={shop}>
          <ToldBy shop={shop} />
          <OfShop api={`/api/shops/${encodeURIComponent(shop)}/predictions`} />
        </InShop>
      )}
    </DeskPage>
  );
}

/** How far what is held of a shop goes; nothing while that is not known. */
function ToldBy({ shop }: { shop: string }) {
  const { answer } = useAsked<HeldShopsView>("/api/shops");
  const held = answer?.shops.find(({ id }) => id === shop);
  return held === undefined ? null : <Told held={held} />;
}

/** Of this shop, or of one of a head office. */
function OfShop({ api }: { api: string }) {
  const { search } = useDesk();
  const words = useWords();
  const asked = new URLSearchParams(search);
  asked.delete("shop");
  const { answer, failure, look } = useAsked<PredictionsView>(`${api}?${asked}`);
  return (
    <>
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
      {answer !== null && <Answer view={answer} api={api} asked={asked} />}
    </>
  );
}

function Answer({ view, api, asked }: { view: PredictionsView; api: string; asked: URLSearchParams }) {
  const { office } = useDesk();
  const words = useWords();
  const tableHref = (table: string) =>
    inChosenLanguage(`${api}.csv?${new URLSearchParams([...asked, ["table", table]])}`);
  return (
    <>
      <Filters view={view} />
      {office !== null && <p class="hint">{words.t("office.lessons")}</p>}
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
      {office === null && <EnergySaved energy={view.energy} />}
    </>
  );
}
