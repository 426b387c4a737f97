/** A place's history for the chart, fetched anew each minute, sooner while it is empty: always the same number of points, however long the page stands. */
import { useEffect, useState } from "preact/hooks";
import type { ClimateHistory } from "../../predictor/serve/api.ts";

const spanMs = 13 * 3_600_000;
const points = 780;
const minuteMs = 60_000;
/** While nothing recent is in it: a shop that has just started sends its past within seconds. */
const soonMs = 10_000;
const recentPoints = 15;

/** The last thirteen hours of a place, a minute a point; null until they have come. A failed request keeps the older answer. */
export function useHistory(place: string, nowMs: number, running: boolean): ClimateHistory | null {
  const [history, setHistory] = useState<ClimateHistory | null>(null);
  const isRecent = history?.airC.mean.slice(-recentPoints).some((value) => value !== null) ?? false;
  const refreshMs = isRecent ? minuteMs : soonMs;
  const turn = Math.floor(nowMs / refreshMs) * refreshMs;
  useEffect(() => {
    if (!running) return;
    const ended = new AbortController();
    const to = (Math.floor(turn / minuteMs) + 1) * minuteMs;
    const query = new URLSearchParams({
      from: new Date(to - spanMs).toISOString(),
      to: new Date(to).toISOString(),
      points: String(points),
    });
    fetch(`/api/places/${encodeURIComponent(place)}/climate?${query}`, { signal: ended.signal })
      .then((response) => (response.ok ? (response.json() as Promise<ClimateHistory>) : null))
      .then(
        (answer) => {
          if (answer !== null) setHistory(answer);
        },
        // The stream watches the connection; the chart goes on with what it has until the next minute.
        () => undefined,
      );
    return () => ended.abort();
  }, [place, turn, running]);
  return history;
}
