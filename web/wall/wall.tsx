/** The wall of one place: what is ready here, and may I spray? */
import { useMemo } from "preact/hooks";
import type { PlaceView, ReadingEvent, Verdict } from "../../predictor/serve/api.ts";
import type { Language, Words } from "../../words/words.ts";
import type { FeedSource } from "../parts/feed.ts";
import { withReading } from "../parts/freshness.ts";
import { useBoardUnit } from "../parts/use-size.ts";
import { AirHead } from "./air-head.tsx";
import { Coats } from "./coats.tsx";
import { Frame, inLanguage, type Shown } from "./frame.tsx";
import { WarningLine } from "./warning-line.tsx";
import { WorkAhead } from "./work-ahead.tsx";

/** Half a covered 'Spray with care' reads 'Spray': without a link there is no verdict at all. */
const lostVerdict = (since: string, words: Words): Verdict => ({
  state: "no verdict",
  reason: words.t("wall.lost-verdict", { time: since }),
  sheets: [],
});

interface Props {
  place: string;
  chosen: Language | null;
}

/** The whole page, from first load to lost connection. */
export function Wall({ place, chosen }: Props) {
  const source = useMemo(
    (): FeedSource<PlaceView> => ({
      load: inLanguage(`/api/places/${encodeURIComponent(place)}/wall`, chosen),
      stream: inLanguage(`/api/stream?place=${encodeURIComponent(place)}`, chosen),
      event: "place",
      asOf: (view) => view.asOf,
      amend: (view, data) => withReading(view, data as ReadingEvent),
    }),
    [place, chosen],
  );
  return (
    <Frame source={source} chosen={chosen} title={(view: PlaceView) => view.place.name} kind="wall-place">
      {(shown) => <Board {...shown} />}
    </Frame>
  );
}

function Board({ view, clock, nowMs, lostSinceMs }: Shown<PlaceView>) {
  const unit = useBoardUnit();
  // What is answered or set aside is somebody's already.
  const open = view.warnings.filter(({ state }) => state === "open");
  const line = unit === null ? null : open.length === 0 ? "large" : "small";
  const workAhead = <WorkAhead view={view} clock={clock} nowMs={nowMs} board={line} />;
  const verdict = lostSinceMs === null ? view.verdict : lostVerdict(clock.when(lostSinceMs, nowMs), clock.words);
  return (
    <>
      <AirHead view={{ ...view, verdict }} clock={clock} nowMs={nowMs} />
      {unit === null && workAhead}
      <Coats view={view} clock={clock} nowMs={nowMs} unit={unit} lost={lostSinceMs !== null} />
      {unit !== null && workAhead}
      <WarningLine warnings={open} />
    </>
  );
}
