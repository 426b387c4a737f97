/** The cars of the shop by what happens next, and the ways on from there. */
import { useState } from "preact/hooks";
import type { CarView } from "../../../predictor/serve/api.ts";
import { coatWords } from "../../parts/coat-words.ts";
import { Notice } from "../../parts/notice.tsx";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { CoatSays } from "../coats/coat-brief.tsx";
import { ActionButton, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { CardSwatch } from "./card-swatch.tsx";
import { isFound } from "./find-car.ts";
import "./cars.css";

/** More than these are not typed through but scrolled. */
const searchFrom = 5;

export function CarListPage() {
  const { cars, failure, clock, nowMs, go } = useShell();
  const words = useWords();
  const [asked, setAsked] = useState("");
  if (cars === null || clock === null) {
    return failure === null ? (
      <Notice title={words.t("cars.looking")} text={words.t("page.looking-hint")} />
    ) : (
      <Notice title={words.t("page.nothing-title")} text={failure} again />
    );
  }
  const found = cars.cars.filter((car) => isFound(car, asked));
  const cautious = found.flatMap(({ coats }) => coats).find((coat) => coatWords(coat, clock, nowMs).cautious);
  return (
    <Page
      title={cars.shop.name}
      actions={
        <div class="two">
          <ActionButton kind="main" onClick={() => go("/spray")}>
            {words.t("spray.title")}
          </ActionButton>
          <ActionButton kind="main" onClick={() => go("/cars/new")}>
            {words.t("cars.new")}
          </ActionButton>
        </div>
      }
    >
      <nav class="ways" aria-label={words.t("cars.ways")}>
        <a href="/warnings" class={cars.openWarnings > 0 ? "ways-open" : ""}>
          {words.t("cars.warnings", { count: cars.openWarnings })}
        </a>
        <a href="/mix">{words.t("cars.mix")}</a>
        <a href="/settings">{words.t("cars.settings")}</a>
      </nav>
      {cars.cars.length >= searchFrom && (
        <label class="work-pick">
          <span>{words.t("cars.find")}</span>
          <input
            type="search"
            value={asked}
            autocomplete="off"
            onInput={(event) => setAsked(event.currentTarget.value)}
          />
        </label>
      )}
      {cautious !== undefined && <p class="caution">{cautious.caution}</p>}
      {found.length === 0 ? (
        <p class="hint no-cars">{words.t(cars.cars.length === 0 ? "cars.none" : "cars.not-found")}</p>
      ) : (
        <ul class="cars">
          {found.map((car) => (
            <Car key={car.id} car={car} clock={clock} nowMs={nowMs} />
          ))}
        </ul>
      )}
      <nav class="walls" aria-label={words.t("cars.walls")}>
        <h2>{words.t("cars.walls")}</h2>
        <ul>
          <li>
            <a href="/wall">{words.t("wall.all-places")}</a>
          </li>
          {cars.places.map((place) => (
            <li key={place.id}>
              <a href={`/wall/${encodeURIComponent(place.id)}`}>{place.name}</a>
            </li>
          ))}
        </ul>
      </nav>
    </Page>
  );
}

function Car({ car, clock, nowMs }: { car: CarView; clock: ShopClock; nowMs: number }) {
  const words = useWords();
  return (
    <li class="car">
      <a href={`/cars/${car.id}`} class="car-open">
        <h2>{car.name}</h2>
        <p>
          {car.colour !== null && <CardSwatch colour={car.colour} />}
          {`${car.job} · ${car.place?.name ?? words.t("car.no-place")}`}
        </p>
      </a>
      {car.coats.length === 0 && <p class="hint">{words.t("car.no-coat")}</p>}
      {car.coats.map((coat) => (
        <div key={coat.id} class="car-coat">
          <p class="hint">
            {`${words.named("kind", coat.sheet.kind)}: ${coat.panels.map((name) => words.named("panel", name)).join(", ")}`}
          </p>
          <CoatSays coat={coat} clock={clock} nowMs={nowMs} caution={false} />
        </div>
      ))}
    </li>
  );
}
