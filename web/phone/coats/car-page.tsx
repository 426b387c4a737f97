/** One car: where it stands, its coats, and what is logged about it with a thumb. */
import { useState } from "preact/hooks";
import type { CarView } from "../../../predictor/serve/api.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useWords } from "../../parts/words-context.ts";
import { CardSwatch } from "../cars/card-swatch.tsx";
import type { Entered } from "../core/enter.ts";
import { ActionButton, Page, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { CheckTask } from "./check-task.tsx";
import { CoatBrief } from "./coat-brief.tsx";
import { History } from "./history.tsx";
import { MoveTask } from "./move-task.tsx";
import { NoSuch } from "./no-such.tsx";
import { PromiseTask } from "./promise-task.tsx";
import { WhatIf } from "./what-if.tsx";
import "./coats.css";

type Task = "moved" | "checked" | "promise";

export function CarPage({ carId }: { carId: string }) {
  const { cars, clock } = useShell();
  const car = cars?.cars.find(({ id }) => id === carId);
  if (car === undefined || clock === null) return <NoSuch isLoading={cars === null} />;
  return <OneCar car={car} clock={clock} />;
}

function OneCar({ car, clock }: { car: CarView; clock: ShopClock }) {
  const { cars, nowMs, go } = useShell();
  const words = useWords();
  const [task, setTask] = useState<Task | null>(null);
  const [entered, setEntered] = useState<Entered | null>(null);
  const done = (result: Entered | null) => {
    setTask(null);
    setEntered(result);
  };
  if (task === "moved") return <MoveTask car={car} done={done} />;
  if (task === "checked") return <CheckTask coats={car.coats} done={done} />;
  if (task === "promise") return <PromiseTask car={car} done={done} />;

  const shop = cars?.shop;
  return (
    <Page
      title={car.name}
      back="/"
      actions={
        <div class="four">
          <ActionButton kind="main" onClick={() => go(`/cars/${car.id}/finish`)}>
            {words.t("car.finished")}
          </ActionButton>
          <ActionButton kind="main" onClick={() => setTask("moved")}>
            {words.t("car.moved")}
          </ActionButton>
          <ActionButton kind="main" disabled={car.coats.length === 0} onClick={() => setTask("checked")}>
            {words.t("car.checked")}
          </ActionButton>
          <ActionButton kind="main" onClick={() => go(`/mix?car=${car.id}`)}>
            {words.t("car.mixed")}
          </ActionButton>
        </div>
      }
    >
      <div class="car-facts">
        {car.colour !== null && <CardSwatch colour={car.colour} />}
        <p>
          <b>{car.job}</b>
          {` · ${car.place?.name ?? words.t("car.no-place")} ${words.t("warnings.since", { time: clock.when(Date.parse(car.since), nowMs) })}`}
        </p>
        <p>{car.panels.map(({ name }) => words.named("panel", name)).join(", ")}</p>
        <button type="button" class="work-switch" onClick={() => setTask("promise")}>
          {car.promisedAt === null
            ? words.t("car.promise")
            : words.t("car.promised", { time: clock.when(Date.parse(car.promisedAt), nowMs) })}
        </button>
      </div>
      {entered !== null && <SaidAs result={entered} />}
      {car.coats.length === 0 && <p class="hint">{words.t("car.no-coat")}</p>}
      {car.coats.map((coat) => (
        <CoatBrief key={coat.id} coat={coat} clock={clock} nowMs={nowMs} href={`/coats/${coat.id}`} />
      ))}
      {car.coats.length > 0 && shop !== undefined && (
        <WhatIf car={car} places={cars?.places ?? []} unit={shop.units.temperature} clock={clock} nowMs={nowMs} />
      )}
      <History car={car} clock={clock} />
      <p>
        <a class="work-link" href={`/cars/${car.id}/card`}>
          {words.t("car.card")}
        </a>
      </p>
    </Page>
  );
}
