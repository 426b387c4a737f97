/** Of which days, which sheet and which place; at a head office, of which shop. Sheets and places are those of the shop. */
import { useState } from "preact/hooks";
import type { PredictionsView } from "../../../predictor/serve/prediction-api.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";

const dayMs = 86_400_000;

export function Filters({ view }: { view: Pick<PredictionsView, "from" | "to" | "choices"> }) {
  const { clock, go, office, path, search } = useDesk();
  const words = useWords();
  const asked = new URLSearchParams(search);
  const [from, setFrom] = useState(() => dayOf(Date.parse(view.from), clock));
  // The span ends before `to`: on the day of the millisecond before it.
  const [to, setTo] = useState(() => dayOf(Date.parse(view.to) - 1, clock));
  const askedShop = asked.get("shop") ?? "";
  const [shop, setShop] = useState(askedShop);
  const [sheet, setSheet] = useState(asked.get("sheet") ?? "");
  const [place, setPlace] = useState(asked.get("place") ?? "");
  const show = (event: Event) => {
    event.preventDefault();
    const wanted = new URLSearchParams();
    if (from !== "") wanted.set("from", new Date(startOf(from, clock)).toISOString());
    if (to !== "") wanted.set("to", new Date(startOf(dayAfter(to), clock)).toISOString());
    if (shop !== "") wanted.set("shop", shop);
    if (shop === askedShop && sheet !== "") wanted.set("sheet", sheet);
    if (shop === askedShop && place !== "") wanted.set("place", place);
    go(`${path}?${wanted}`);
  };
  return (
    <form class="prediction-filters" onSubmit={show}>
      {office !== null && (
        <label>
          {words.t("predictions.shop")}
          <select class="desk-field" value={shop} onChange={(event) => setShop(event.currentTarget.value)}>
            <option value="">{words.t("predictions.all-shops")}</option>
            {office.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </label>
      )}
      <label>
        {words.t("predictions.from")}
        <input
          class="desk-field"
          type="date"
          value={from}
          max={to}
          onInput={(event) => setFrom(event.currentTarget.value)}
        />
      </label>
      <label>
        {words.t("predictions.to")}
        <input
          class="desk-field"
          type="date"
          value={to}
          min={from}
          onInput={(event) => setTo(event.currentTarget.value)}
        />
      </label>
      <label>
        {words.t("predictions.sheet")}
        <select class="desk-field" value={sheet} onChange={(event) => setSheet(event.currentTarget.value)}>
          <option value="">{words.t("predictions.all-sheets")}</option>
          {view.choices.sheets.map(({ id, name }) => (
            <option key={id} value={id}>
              {name}
            </option>
          ))}
        </select>
      </label>
      {view.choices.places.length > 0 && (
        <label>
          {words.t("predictions.place")}
          <select class="desk-field" value={place} onChange={(event) => setPlace(event.currentTarget.value)}>
            <option value="">{words.t("predictions.all-places")}</option>
            {view.choices.places.map(({ id, name }) => (
              <option key={id} value={id}>
                {name}
              </option>
            ))}
          </select>
        </label>
      )}
      <button type="submit" class="desk-button desk-button-main">
        {words.t("predictions.show")}
      </button>
    </form>
  );
}

/** The shop's day of an instant, "2026-11-29". */
const dayOf = (atMs: number, { offsetMs }: ShopClock) => new Date(atMs + offsetMs(atMs)).toISOString().slice(0, 10);

/** When the shop's day begins; the offset is that of the midnight itself. */
function startOf(day: string, { offsetMs }: ShopClock): number {
  const utcMs = Date.parse(`${day}T00:00:00Z`);
  return utcMs - offsetMs(utcMs - offsetMs(utcMs));
}

const dayAfter = (day: string) => new Date(Date.parse(`${day}T00:00:00Z`) + dayMs).toISOString().slice(0, 10);
