/** The car was moved: one tap on where it stands now. */
import { useState } from "preact/hooks";
import type { CarView } from "../../../predictor/serve/api.ts";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { When } from "./when.tsx";

interface Props {
  car: CarView;
  done(result: Entered | null): void;
}

export function MoveTask({ car, done }: Props) {
  const { cars, clock, nowMs } = useShell();
  const words = useWords();
  const [atMs, setAtMs] = useState<number | null>(null);
  const [isLeaving, setLeaving] = useState(false);
  const at = () => new Date(atMs ?? nowMs).toISOString();
  const move = async (place: string, name: string) => {
    const label = words.t("move.entry", { car: car.name, place: name });
    done(await enter({ method: "POST", path: `/api/cars/${car.id}/moves`, body: { place, at: at() }, label }));
  };
  const leave = async () => {
    const label = words.t("move.entry-left", { car: car.name });
    done(await enter({ method: "POST", path: `/api/cars/${car.id}/departure`, body: { at: at() }, label }));
  };
  const others = (cars?.places ?? []).filter(({ id, kind }) => id !== car.place?.id && kind !== "mixing");
  return (
    <Page
      title={words.t("move.title")}
      actions={<ActionButton onClick={() => done(null)}>{words.t("warnings.cancel")}</ActionButton>}
    >
      <p class="about">{car.name}</p>
      {clock !== null && (
        <When label={words.t("move.when")} nowMs={nowMs} clock={clock} value={atMs} onChange={setAtMs} />
      )}
      {others.map(({ id, name }) => (
        <ActionButton key={id} kind="main" onClick={() => void move(id, name)}>
          {name}
        </ActionButton>
      ))}
      {isLeaving ? (
        <ActionButton kind="danger" onClick={() => void leave()}>
          {words.t("move.left-sure")}
        </ActionButton>
      ) : (
        <ActionButton onClick={() => setLeaving(true)}>{words.t("move.left")}</ActionButton>
      )}
    </Page>
  );
}
