/** Whose word a page of a head office is, and how far it goes. */
import type { Held } from "../../predictor/serve/office-api.ts";
import { msOf } from "../parts/shop-clock.ts";
import { useWords } from "../parts/words-context.ts";
import { useDesk } from "./desk.tsx";

export function Told({ held }: { held: Held }) {
  const { nowMs, shop, timeZone } = useDesk();
  const words = useWords();
  const when = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? null : words.when(ms, nowMs);
  };
  return (
    <div class={held.state === "up-to-date" ? "desk-told" : "desk-told is-old"}>
      <p>
        {words.t("office.told", {
          shop: held.name,
          entries: held.entries,
          readings: when(held.readingsUntil) ?? words.t("office.nothing"),
          heard: when(held.lastHeardAt) ?? words.t("office.never"),
        })}
      </p>
      {shop.timeZone !== timeZone && <p>{words.t("office.zone", { zone: shop.timeZone })}</p>}
      {held.state === "doubtful" && (
        <p>
          <b>{words.t("office.told-doubtful")}</b> <a href="/shops">{words.t("desk.shops")}</a>
        </p>
      )}
    </div>
  );
}
