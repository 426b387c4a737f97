/** The coats of a place on their rails, and the place's air under them on the same axis. */
import { useMemo, useRef } from "preact/hooks";
import type { CoatView, PlaceView, Shop } from "../../predictor/serve/api.ts";
import type { Words } from "../../words/words.ts";
import { type ChartSize, ClimateChart } from "../parts/climate-chart.tsx";
import { QrCode } from "../parts/qr-code.tsx";
import type { ShopClock } from "../parts/shop-clock.ts";
import type { RailSize } from "../parts/time-rail.tsx";
import { sharedScale } from "../parts/time-scale.ts";
import { useSize, useWidth } from "../parts/use-size.ts";
import { CoatStrip } from "./coat-strip.tsx";
import { coatsAt } from "./pages.ts";
import { useHistory } from "./use-history.ts";

const boardCapacity = 2;

interface Sizes {
  rail: RailSize;
  chart: ChartSize;
}

const scrollingSizes: Sizes = {
  rail: { labelPx: 26, tapePx: 38, bandPx: 26, fontPx: 15, ticks: true },
  chart: { leftPx: 0, rightPx: 0, heightPx: 190, fontPx: 14 },
};

/** The chart's height, in pixels of the drawing, from which the names of its lines leave room for the phones' code under them. */
const codeRoomPx = 300;

/** `u` is a pixel of the 1080-line drawing; the chart takes the height that the coats leave. */
function boardSizes(u: number, alone: boolean, heightPx: number): Sizes {
  const rail = alone
    ? { labelPx: 46 * u, tapePx: 110 * u, bandPx: 44 * u, fontPx: 34 * u, ticks: false }
    : { labelPx: 30 * u, tapePx: 36 * u, bandPx: 28 * u, fontPx: 25 * u, ticks: false };
  return { rail, chart: { leftPx: 120 * u, rightPx: 300 * u, heightPx, fontPx: 25 * u } };
}

/** On the wall display a coat that stayed where it is, without a gap, has no band to show: its place heads the page. */
function railSizeOf(coat: CoatView, size: RailSize, board: boolean): RailSize {
  const moved = coat.bands.length > 1 || coat.bands.some((band) => band.kind === "gap");
  return board && !moved ? { ...size, bandPx: 0 } : size;
}

interface Props {
  view: PlaceView;
  clock: ShopClock;
  nowMs: number;
  /** CSS pixels for a pixel of the 1080-line drawing; null where the page scrolls instead of turning. */
  unit: number | null;
  lost: boolean;
}

export function Coats({ view, clock, nowMs, unit, lost }: Props) {
  const { words } = clock;
  const frame = useRef<HTMLElement>(null);
  const air = useRef<HTMLDivElement>(null);
  const room = useSize(air);
  const widthPx = useWidth(frame);
  const history = useHistory(view.place.id, nowMs, !lost);
  const page = coatsAt(view.coats, unit === null ? Number.POSITIVE_INFINITY : boardCapacity, nowMs);
  const wide = widthPx > 700;
  const scaleNowMs = Math.floor(nowMs / 60_000) * 60_000;
  const scale = useMemo(
    () => sharedScale(page.items, scaleNowMs, clock.offsetMs(scaleNowMs), wide ? 8 : 4),
    [page.items.map((coat) => coat.id).join(" "), view, scaleNowMs, clock, wide],
  );
  const sizes = unit === null ? scrollingSizes : boardSizes(unit, page.items.length === 1, room.height);
  return (
    <main class="coats" ref={frame}>
      {page.items.length === 0 && (
        <p class="no-coats">
          {words.t("wall.no-coats")} <span>{words.t("wall.no-coats-more")}</span>
        </p>
      )}
      {page.items.map((coat) => (
        <CoatStrip
          key={coat.id}
          coat={coat}
          scale={scale}
          size={railSizeOf(coat, sizes.rail, unit !== null)}
          clock={clock}
          nowMs={nowMs}
        />
      ))}
      <div class="coats-air" ref={air}>
        <ClimateChart
          history={history}
          climate={view.climate}
          ahead={view.hoursAhead}
          scale={scale}
          size={sizes.chart}
          unit={view.shop.units.temperature}
          clock={clock}
          nowMs={nowMs}
          lost={lost}
        />
        {unit !== null && page.of === 1 && room.height > codeRoomPx * unit && (
          <PhoneCode shop={view.shop} coats={page.items} words={words} modulePx={4 * unit} />
        )}
        {page.of > 1 && (
          <p class="turning">
            {words.t("wall.turning", { count: view.coats.length, page: page.number, pages: page.of })}
          </p>
        )}
      </div>
    </main>
  );
}

interface PhoneCodeProps {
  shop: Shop;
  coats: readonly CoatView[];
  words: Words;
  modulePx: number;
}

/** Opens the car where only one stands here, else the list of all. */
function PhoneCode({ shop, coats, words, modulePx }: PhoneCodeProps) {
  const [first] = coats;
  const one = first !== undefined && coats.every(({ carId }) => carId === first.carId) ? first : null;
  return (
    <QrCode
      address={one === null ? `${shop.address}/` : `${shop.address}/cars/${encodeURIComponent(one.carId)}`}
      label={one === null ? words.t("wall.phone-list") : words.t("wall.phone-car", { car: one.car })}
      modulePx={modulePx}
    />
  );
}
