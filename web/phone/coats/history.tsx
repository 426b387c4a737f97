/** What happened to a car, newest first, and its moves, which can be corrected with a reason. */
import { useState } from "preact/hooks";
import type { CarView } from "../../../predictor/serve/api.ts";
import type { Entries } from "../../../predictor/serve/entries.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Choice, SaidAs } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { Reason } from "./reason.tsx";
import { When } from "./when.tsx";

type Move = CarView["moves"][number];

interface Line {
  at: string;
  text: string;
  who: string;
  move: Move | null;
}

export function History({ car, clock }: { car: CarView; clock: ShopClock }) {
  const { cars, nowMs } = useShell();
  const words = useWords();
  const [fixing, setFixing] = useState<Move | null>(null);
  const [entered, setEntered] = useState<Entered | null>(null);
  const placeName = (id: string | null) =>
    id === null ? words.t("history.left") : (cars?.places.find((place) => place.id === id)?.name ?? id);
  const lines: Line[] = [
    ...car.moves.map((move, index) => ({
      at: move.at,
      text:
        index === 0
          ? words.t("history.came", { place: placeName(move.place) })
          : words.t("history.moved", { place: placeName(move.place) }),
      who: move.who,
      move,
    })),
    ...car.coats.flatMap((coat): Line[] => [
      {
        at: coat.finishedAt,
        text: words.t("history.coat", { kind: words.named("kind", coat.sheet.kind) }),
        who: coat.who,
        move: null,
      },
      ...coat.checks
        .filter(({ withdrawn }) => withdrawn === null)
        .map((check) => ({
          at: check.at,
          text: words.t(check.ready ? "history.check-ready" : "history.check-not-yet", {
            stage: words.t(`stage.${check.stage}`),
          }),
          who: check.who,
          move: null,
        })),
    ]),
  ];
  lines.sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  return (
    <details class="work-folded">
      <summary>{words.t("history.title", { count: lines.length })}</summary>
      {entered !== null && <SaidAs result={entered} />}
      <ul>
        {lines.map(({ at, text, who, move }) => (
          <li key={`${at}/${text}`}>
            <span>
              <b>{clock.when(Date.parse(at), nowMs)}</b> {text}
            </span>
            <span class="hint">{who}</span>
            {move !== null && (
              <button type="button" class="work-switch" onClick={() => setFixing(fixing?.at === move.at ? null : move)}>
                {words.t("history.correct")}
              </button>
            )}
            {move !== null && fixing?.at === move.at && (
              <FixMove
                carId={car.id}
                move={move}
                clock={clock}
                done={(result) => {
                  setFixing(null);
                  setEntered(result);
                }}
              />
            )}
          </li>
        ))}
      </ul>
      <AllEntries carId={car.id} clock={clock} />
    </details>
  );
}

/** Every entry about the car, as the log has it: nothing of it was changed or left out. */
function AllEntries({ carId, clock }: { carId: string; clock: ShopClock }) {
  const { nowMs } = useShell();
  const words = useWords();
  const [isOpen, setOpen] = useState(false);
  const { answer, failure } = useAsked<Entries>(isOpen ? `/api/cars/${encodeURIComponent(carId)}/entries` : null);
  return (
    <details class="work-folded" onToggle={({ currentTarget }) => setOpen(currentTarget.open)}>
      <summary>{words.t("history.all")}</summary>
      {failure !== null && <p class="hint">{failure}</p>}
      <ul>
        {answer?.entries.toReversed().map(({ seq, at, text, who }) => (
          <li key={seq}>
            <span>
              <b>{clock.when(Date.parse(at), nowMs)}</b> {text}
            </span>
            <span class="hint">{who}</span>
          </li>
        ))}
      </ul>
    </details>
  );
}

interface FixProps {
  carId: string;
  move: Move;
  clock: ShopClock;
  done(result: Entered | null): void;
}

function FixMove({ carId, move, clock, done }: FixProps) {
  const { cars, nowMs } = useShell();
  const words = useWords();
  const [place, setPlace] = useState<string | null>(move.place);
  const [atMs, setAtMs] = useState<number | null>(Date.parse(move.at));
  const isPlaceNew = place !== null && place !== move.place;
  const isTimeNew = atMs !== Date.parse(move.at);
  const send = async (reason: string) => {
    const body = {
      was: move.at,
      reason,
      ...(isPlaceNew ? { place } : {}),
      ...(isTimeNew ? { at: new Date(atMs ?? nowMs).toISOString() } : {}),
    };
    const label = words.t("history.entry-move");
    done(await enter({ method: "PATCH", path: `/api/cars/${carId}/moves`, body, label }));
  };
  return (
    <div class="fix">
      {move.place !== null && (
        <Choice
          label={words.t("move.title")}
          options={(cars?.places ?? []).map(({ id, name }) => ({ value: id, text: name }))}
          value={place}
          onChange={setPlace}
        />
      )}
      <When label={words.t("move.when")} nowMs={nowMs} clock={clock} value={atMs} onChange={setAtMs} />
      <Reason
        usual={["reason.late-tap", "reason.wrong-place"]}
        disabled={!isPlaceNew && !isTimeNew}
        onReason={(reason) => void send(reason)}
      />
      <ActionButton onClick={() => done(null)}>{words.t("warnings.cancel")}</ActionButton>
    </div>
  );
}
