/** When something happened: now, some minutes ago, or at a time of day that is picked. */
import { useState } from "preact/hooks";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { instantOf, minutesAgo } from "./instants.ts";

interface Props {
  label: string;
  nowMs: number;
  clock: ShopClock;
  /** UTC ms; null for now. */
  value: number | null;
  onChange(atMs: number | null): void;
}

/** Folded away until it is needed: as a rule it is now. */
export function When({ label, nowMs, clock, value, onChange }: Props) {
  const words = useWords();
  const [time, setTime] = useState("");
  return (
    <details class="when-picker">
      <summary>
        {label}: <b>{value === null ? words.t("when.now") : clock.when(value, nowMs)}</b>
      </summary>
      <div class="chips">
        <button type="button" aria-pressed={value === null} onClick={() => onChange(null)}>
          {words.t("when.now")}
        </button>
        {minutesAgo.map((minutes) => (
          <button key={minutes} type="button" onClick={() => onChange(nowMs - minutes * 60_000)}>
            {words.t("when.ago", { minutes })}
          </button>
        ))}
      </div>
      <label class="work-pick">
        <span>{words.t("when.at")}</span>
        <input
          type="time"
          value={time}
          onInput={(event) => {
            setTime(event.currentTarget.value);
            const atMs = instantOf(event.currentTarget.value, nowMs, clock);
            if (atMs !== null) onChange(atMs);
          }}
        />
      </label>
    </details>
  );
}
