/** The cars of the shop and what is ready on them, next event first. */
import { Fragment } from "preact";
import { useMemo } from "preact/hooks";
import type { Cars, CarView, CoatView, Place, Shop } from "../../predictor/serve/api.ts";
import { CoatNotes } from "../parts/coat-notes.tsx";
import { coatWords } from "../parts/coat-words.ts";
import { LostCorner, Notice } from "../parts/notice.tsx";
import { GateShape, StateShape } from "../parts/shapes.tsx";
import type { ShopClock } from "../parts/shop-clock.ts";
import { TimeRail } from "../parts/time-rail.tsx";
import { sharedScale, type TimeScale } from "../parts/time-scale.ts";
import { useFeed } from "../parts/use-feed.ts";
import { useShopClock } from "../parts/use-shop-clock.ts";
import { useShopWords } from "../parts/words-context.ts";
import { WhatIf } from "./what-if.tsx";

const source = { load: "/api/cars", stream: "/api/stream", event: "cars" };
const railSize = { labelPx: 24, tapePx: 34, bandPx: 24, fontPx: 14, ticks: true };

/** The whole page, from first load to lost connection. */
export function CarList() {
  const { view, failure, lostSinceMs, nowMs } = useFeed<Cars>(source);
  const clock = useShopClock(view?.shop ?? null, useShopWords(view?.shop ?? null, null));
  if (view === null || clock === null) {
    return failure === null ? (
      <Notice title="Looking for the cars" text="The list fills as soon as the predictor answers." />
    ) : (
      <Notice title="Nothing to show" text={failure} again />
    );
  }
  return (
    <div class={`list${lostSinceMs === null ? "" : " lost"}`}>
      {view.shop.invented && <aside class="invented">Invented shop, invented materials</aside>}
      <header class="list-head">
        <h1>{view.shop.name}</h1>
        <time>{clock.time(nowMs)}</time>
      </header>
      <main>
        {view.cars.length === 0 ? (
          <p class="no-cars">No car is in the shop.</p>
        ) : (
          <ul class="cars">
            {view.cars.map((car) => (
              <Car key={car.id} car={car} shop={view.shop} places={view.places} clock={clock} nowMs={nowMs} />
            ))}
          </ul>
        )}
      </main>
      <nav class="places" aria-label="Walls of the places">
        <h2>Walls</h2>
        <ul>
          {view.places.map((place) => (
            <li key={place.id}>
              <a href={`/wall/${encodeURIComponent(place.id)}`}>{place.name}</a>
            </li>
          ))}
        </ul>
      </nav>
      {lostSinceMs !== null && <LostCorner since={clock.when(lostSinceMs, nowMs)} />}
    </div>
  );
}

interface CarProps {
  car: CarView;
  shop: Shop;
  places: readonly Place[];
  clock: ShopClock;
  nowMs: number;
}

function Car({ car, shop, places, clock, nowMs }: CarProps) {
  const minuteMs = Math.floor(nowMs / 60_000) * 60_000;
  const scale = useMemo(
    () => sharedScale(car.coats, minuteMs, clock.offsetMs(minuteMs), 5),
    [car.coats, minuteMs, clock],
  );
  return (
    <li class="car">
      <div class="car-who">
        <h2>{car.name}</h2>
        <p>
          {car.job} · {car.place === null ? "not in a place" : car.place.name}
        </p>
      </div>
      {car.coats.length === 0 && <p class="no-coat">No coat is waiting.</p>}
      {car.coats.map((coat) => (
        <Coat key={coat.id} coat={coat} scale={scale} clock={clock} nowMs={nowMs} />
      ))}
      {car.coats.length > 0 && (
        <WhatIf car={car} places={places} unit={shop.units.temperature} clock={clock} nowMs={nowMs} />
      )}
    </li>
  );
}

interface CoatProps {
  coat: CoatView;
  scale: TimeScale;
  clock: ShopClock;
  nowMs: number;
}

function Coat({ coat, scale, clock, nowMs }: CoatProps) {
  const words = coatWords(coat, clock, nowMs);
  return (
    <section class="coat" aria-label={`${coat.car}: ${coat.sheet.name} on ${coat.panels.join(", ")}`}>
      <div class="coat-says">
        <p class="coat-now" aria-live="polite">
          <StateShape mark={words.now.mark} />
          <b>{words.now.text}</b>
        </p>
        {words.cautious && <p class="caution">{coat.caution}</p>}
        {words.gate !== null && (
          <p class={`gate gate-${words.gate.state}`}>
            <GateShape state={words.gate.state} />
            <span>
              {words.gate.detail}
              {words.gate.time !== null && ` Shuts ${words.gate.time}.`}
            </span>
          </p>
        )}
        <p class="coat-next">
          <StateShape mark={words.next.mark} />
          <span>
            {words.next.text}
            {words.next.times.map(({ time, word }) => (
              <Fragment key={word}>
                {" "}
                <span class="when">
                  <b>{time}</b> {word}
                </span>
              </Fragment>
            ))}
          </span>
        </p>
        <p class="coat-what">
          {coat.sheet.name} · {coat.panels.join(", ")}
          {coat.prediction !== null && ` · ${coat.prediction.curePercent.toFixed(0)} % cured`}
        </p>
        <CoatNotes coat={coat} clock={clock} nowMs={nowMs} />
      </div>
      <TimeRail coat={coat} scale={scale} size={railSize} clock={clock} nowMs={nowMs} />
    </section>
  );
}
