/** One calm line for the work ahead: by when to finish a coat, and how long the mixed pots last. */
import { useRef } from "preact/hooks";
import type { PlaceView } from "../../predictor/serve/api.ts";
import { PotShape } from "../parts/shapes.tsx";
import type { ShopClock } from "../parts/shop-clock.ts";
import { useFit, useWidth } from "../parts/use-size.ts";
import { useWords } from "../parts/words-context.ts";
import { type PotWords, potWords, pressingPots, type StartByWords, startByWords } from "../parts/work-ahead.ts";
import { onTurn } from "./pages.ts";

interface Props {
  view: PlaceView;
  clock: ShopClock;
  nowMs: number;
  /** Set on a wall display, where one of each is shown and they take turns: large where nothing is more urgent, else small. */
  board: "large" | "small" | null;
}

export function WorkAhead({ view, clock, nowMs, board }: Props) {
  const asked = startByWords(view, clock, nowMs);
  const pots = board === null ? view.pots : onTurn(pressingPots(view.pots), nowMs);
  const potsSaid = pots.map((pot) => potWords(pot, clock, nowMs));
  const questions = board === null ? asked : onTurn(asked, nowMs);
  if (questions.length === 0 && potsSaid.length === 0) return null;
  return <Line questions={questions} pots={potsSaid} board={board} />;
}

interface LineProps extends Pick<Props, "board"> {
  questions: StartByWords[];
  pots: PotWords[];
}

function Line({ questions, pots, board }: LineProps) {
  const words = useWords();
  const line = useRef<HTMLDListElement>(null);
  useFit(line, JSON.stringify([questions, pots, board]), useWidth(line), 0.5);
  return (
    <section aria-label={words.t("wall.work-ahead")}>
      <dl class={`ahead${board === null ? "" : ` ahead-${board}`}`} ref={line}>
        {questions.map((question) => (
          <StartBy key={question.id} question={question} />
        ))}
        {pots.map((pot) => (
          <Pot key={pot.id} pot={pot} />
        ))}
      </dl>
    </section>
  );
}

function StartBy({ question }: { question: StartByWords }) {
  const words = useWords();
  return (
    <div class="ahead-start">
      <dt>{question.question}</dt>
      <dd>
        {question.answers.map(({ place, time, word }) => (
          <span key={place} class="when">
            {time !== null && <b>{time}</b>}{" "}
            <small>{word === "" ? place : words.t("start-by.place-and-word", { place, word })}</small>
          </span>
        ))}
      </dd>
    </div>
  );
}

function Pot({ pot }: { pot: PotWords }) {
  const words = useWords();
  return (
    <div class={`ahead-pot ahead-pot-${pot.state}`}>
      <dt>{words.t("pot.said", { name: pot.name, word: pot.word })}</dt>
      <dd>
        <PotShape state={pot.state} />
        {pot.time !== null && <b>{pot.time}</b>}
      </dd>
    </div>
  );
}
