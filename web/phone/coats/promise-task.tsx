/** By when the car was promised. */
import { useState } from "preact/hooks";
import type { CarView } from "../../../predictor/serve/api.ts";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { nextInstantOf } from "./instants.ts";

interface Props {
  car: CarView;
  done(result: Entered | null): void;
}

const dayMs = 86_400_000;

export function PromiseTask({ car, done }: Props) {
  const { clock, nowMs } = useShell();
  const words = useWords();
  const [time, setTime] = useState("");
  const [days, setDays] = useState(0);
  const nextMs = clock === null ? null : nextInstantOf(time, nowMs, clock);
  const atMs = nextMs === null ? null : nextMs + days * dayMs;
  const send = async (promisedAtMs: number | null) => {
    const promisedAt = promisedAtMs === null ? null : new Date(promisedAtMs).toISOString();
    const label = words.t("promise.entry", { car: car.name });
    done(await enter({ method: "POST", path: `/api/cars/${car.id}/promise`, body: { promisedAt }, label }));
  };
  return (
    <Page
      title={words.t("promise.title")}
      actions={
        <>
          <ActionButton onClick={() => done(null)}>{words.t("warnings.cancel")}</ActionButton>
          <ActionButton kind="main" disabled={atMs === null} onClick={() => void send(atMs)}>
            {atMs === null || clock === null
              ? words.t("promise.pick")
              : words.t("promise.record", { time: clock.when(atMs, nowMs) })}
          </ActionButton>
        </>
      }
    >
      <p class="about">{car.name}</p>
      <label class="work-pick">
        <span>{words.t("promise.time")}</span>
        <input type="time" value={time} onInput={(event) => setTime(event.currentTarget.value)} />
      </label>
      <div class="chips">
        {[0, 1, 2, 3].map((more) => (
          <button key={more} type="button" aria-pressed={days === more} onClick={() => setDays(more)}>
            {words.t("promise.days", { count: more })}
          </button>
        ))}
      </div>
      {car.promisedAt !== null && (
        <ActionButton kind="danger" onClick={() => void send(null)}>
          {words.t("promise.none")}
        </ActionButton>
      )}
    </Page>
  );
}
