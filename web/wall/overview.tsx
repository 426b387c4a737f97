/** All places at once, each on a track of its own along one axis of clock time: what is ready where, and where may I spray? */
import { useMemo } from "preact/hooks";
import type { Overview as OverviewView } from "../../predictor/serve/api.ts";
import type { Language } from "../../words/language.ts";
import type { FeedSource } from "../parts/feed.ts";
import { QrCode } from "../parts/qr-code.tsx";
import type { ShopClock } from "../parts/shop-clock.ts";
import { sharedScale, shareOf, type TimeScale } from "../parts/time-scale.ts";
import { useBoardUnit } from "../parts/use-size.ts";
import { Frame, inLanguage, type Shown } from "./frame.tsx";
import { halfTurn, onTurn, pageAt } from "./pages.ts";
import { roomFor } from "./room.ts";
import { type PlaceBrief, Track } from "./track.tsx";
import { WarningLine } from "./warning-line.tsx";

/** Tracks on a wall display at most; more turn. */
const trackCapacity = 6;
/** The whole page, from first load to lost connection. */
export function Overview({ chosen }: { chosen: Language | null }) {
  const source = useMemo(
    (): FeedSource<OverviewView> => ({
      load: inLanguage("/api/overview", chosen),
      stream: inLanguage("/api/stream?overview", chosen),
      event: "overview",
      asOf: (view) => view.asOf,
    }),
    [chosen],
  );
  return (
    <Frame source={source} chosen={chosen} title={() => null} kind="wall-places">
      {(shown) => <Places {...shown} />}
    </Frame>
  );
}

/** A place keeps its track while the others turn where a hand is wanted now. */
const urgencyOf = ({ warning }: PlaceBrief) => (warning?.urgency === "now" ? 1 : 0);

function Places({ view, clock, nowMs, lostSinceMs }: Shown<OverviewView>) {
  const { words } = clock;
  const unit = useBoardUnit();
  const capacity = unit === null ? Number.POSITIVE_INFINITY : trackCapacity;
  const page = pageAt(view.places, capacity, urgencyOf, nowMs);
  const coats = page.items.flatMap((place) => place.coats);
  const scaleNowMs = Math.floor(nowMs / 60_000) * 60_000;
  const scale = useMemo(
    () => sharedScale(coats, scaleNowMs, clock.offsetMs(scaleNowMs), unit === null ? 4 : 9),
    [view, page.number, page.of, scaleNowMs, clock, unit === null],
  );
  const pressing = pressingWarning(view.places, words, nowMs);
  const room = roomFor(page.items.length, pressing.length > 0);
  const height = unit === null ? undefined : { "--rail": `${room.railPx}` };
  return (
    <>
      <header class="over-head">
        <h1>{view.shop.name}</h1>
        {page.of > 1 && (
          <p class="turning">
            {words.t("overview.places", { count: view.places.length, page: page.number, pages: page.of })}
          </p>
        )}
        {unit !== null && room.hasCode && lostSinceMs === null && (
          <QrCode address={`${view.shop.address}/`} label={words.t("wall.phone-list")} modulePx={4 * unit} />
        )}
        <time>{clock.time(nowMs)}</time>
      </header>
      <main class={room.coats > 1 ? "tracks roomy" : "tracks"} style={height}>
        {unit !== null && <Axis scale={scale} clock={clock} />}
        {page.items.length === 0 && <p class="no-coats">{words.t("overview.no-places")}</p>}
        {page.items.map((brief) => (
          <Track
            key={brief.place.id}
            brief={brief}
            unit={view.shop.units.temperature}
            scale={scale}
            coatsAtMost={unit === null ? Number.POSITIVE_INFINITY : room.coats}
            clock={clock}
            nowMs={nowMs}
            lost={lostSinceMs !== null}
          />
        ))}
      </main>
      {unit !== null && <WarningLine warnings={pressing} oneLine={room.oneLine ? halfTurn(nowMs) : null} />}
    </>
  );
}

/** The warnings of the highest urgency take turns on the line below, each with its place's name. */
function pressingWarning(places: readonly PlaceBrief[], words: ShopClock["words"], nowMs: number) {
  const warned = places.flatMap(({ place, warning }) => (warning === null ? [] : [{ place, warning }]));
  const most = (["now", "soon", "today"] as const).find((urgency) =>
    warned.some(({ warning }) => warning.urgency === urgency),
  );
  const turning = warned.filter(({ warning }) => warning.urgency === most);
  return onTurn(turning, nowMs).map(({ place, warning }) => ({
    ...warning,
    text: words.t("overview.warning", { place: place.name, text: warning.text }),
  }));
}

/** The clock times that all tracks stand under. */
function Axis({ scale, clock }: { scale: TimeScale; clock: ShopClock }) {
  const ticks = scale.ticksMs.map((tick) => ({ tick, share: shareOf(scale, tick) }));
  return (
    <p class="tracks-axis" aria-hidden="true">
      {ticks
        .filter(({ share }) => share > 0.02 && share < 0.97)
        .map(({ tick, share }) => (
          <span key={tick} style={{ left: `${share * 100}%` }}>
            {clock.time(tick)}
          </span>
        ))}
    </p>
  );
}
