/** The wall of one place: what is ready here, and may I spray? */
import { useEffect, useMemo } from "preact/hooks";
import type { PlaceView, ReadingEvent, Verdict } from "../../predictor/serve/api.ts";
import { withReading } from "../parts/freshness.ts";
import { LostCorner, Notice } from "../parts/notice.tsx";
import { isDim } from "../parts/shop-clock.ts";
import { useFeed } from "../parts/use-feed.ts";
import { useShopClock } from "../parts/use-shop-clock.ts";
import { useBoardUnit } from "../parts/use-size.ts";
import { AirHead } from "./air-head.tsx";
import { Coats } from "./coats.tsx";
import { WarningLine } from "./warning-line.tsx";
import { WorkAhead } from "./work-ahead.tsx";

const asOf = (view: PlaceView) => view.asOf;
const amend = (view: PlaceView, data: unknown) => withReading(view, data as ReadingEvent);

/** Half a covered 'Spray with care' reads 'Spray': without a link there is no verdict at all. */
const lostVerdict = (since: string): Verdict => ({
  state: "no verdict",
  reason: `No link to the predictor since ${since}. Measure by hand before you spray.`,
  sheets: [],
});

/** The whole page, from first load to lost connection. */
export function Wall({ place }: { place: string }) {
  const source = useMemo(
    () => ({
      load: `/api/places/${encodeURIComponent(place)}/wall`,
      stream: `/api/stream?place=${encodeURIComponent(place)}`,
      event: "place",
      asOf,
      amend,
    }),
    [place],
  );
  const { view, failure, lostSinceMs, nowMs } = useFeed<PlaceView>(source);
  const clock = useShopClock(view?.shop ?? null);
  const unit = useBoardUnit();
  useEffect(() => {
    document.title = `${view?.place.name ?? "Wall"} – Coatclock`;
  }, [view?.place.name]);

  if (view === null || clock === null) {
    return failure === null ? (
      <Notice title="Looking at the sensors" text="The page fills as soon as the predictor answers." />
    ) : (
      <Notice title="Nothing to show" text={failure} link={{ href: "/", text: "All cars and places" }} again />
    );
  }
  const lost = lostSinceMs !== null;
  const line = unit === null ? null : view.warnings.length === 0 ? "large" : "small";
  const workAhead = <WorkAhead view={view} clock={clock} nowMs={nowMs} board={line} />;
  const dim = isDim(view.shop.dim, clock.minuteOfDay(nowMs));
  return (
    <div class={`wall${lost ? " lost" : ""}${dim ? " dim" : ""}${view.shop.invented ? " marked" : ""}`}>
      {view.shop.invented && <aside class="invented">Invented shop, invented materials</aside>}
      <AirHead
        view={lostSinceMs === null ? view : { ...view, verdict: lostVerdict(clock.when(lostSinceMs, nowMs)) }}
        clock={clock}
        nowMs={nowMs}
      />
      {unit === null && workAhead}
      <Coats view={view} clock={clock} nowMs={nowMs} unit={unit} lost={lost} />
      {unit !== null && workAhead}
      <WarningLine warnings={view.warnings} />
      {lost && <LostCorner since={clock.when(lostSinceMs, nowMs)} />}
    </div>
  );
}
