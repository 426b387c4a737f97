/** Whose word a coat's file is at a head office, and how far it goes. */
import type { Held } from "../../../predictor/serve/office-api.ts";
import { msOf } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";

export function Told({ held }: { held: Held }) {
  const { nowMs } = useDesk();
  const words = useWords();
  const when = (iso: string | null) => {
    const ms = msOf(iso);
    return ms === null ? null : words.when(ms, nowMs);
  };
  return (
    <div class={held.state === "up-to-date" ? "file-told" : "file-told is-old"}>
      <p>
        {words.t("office.told", {
          shop: held.name,
          entries: held.entries,
          readings: when(held.readingsUntil) ?? words.t("office.nothing"),
          heard: when(held.lastHeardAt) ?? words.t("office.never"),
        })}
      </p>
      {held.state === "stopped" && (
        <p>
          <b>{words.t("office.told-stopped")}</b> <a href="/shops">{words.t("desk.shops")}</a>
        </p>
      )}
    </div>
  );
}
