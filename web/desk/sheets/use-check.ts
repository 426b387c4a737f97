/** What the predictor says of a draft while it is typed: asked a moment after the last key. */
import { useEffect, useRef, useState } from "preact/hooks";
import type { DraftAnswer, LadderView } from "../../../predictor/serve/sheet-api.ts";
import { AskFault, ask } from "../../parts/ask.ts";

const pauseMs = 350;

export interface Checked {
  /** Null until the first answer. */
  answer: DraftAnswer | null;
  /** Of the last draft that was sound. */
  ladder: LadderView | null;
  /** The answer is about another draft than the one that stands there now. */
  isOld: boolean;
  /** Why there is no answer, in words. */
  failure: string | null;
}

/** `sheet` as JSON text; asked anew with another `round`. */
export function useCheck(sheet: string, round: number): Checked {
  const [state, setState] = useState<Omit<Checked, "isOld"> & { of: string | null }>({
    ...{ answer: null, ladder: null, failure: null, of: null },
  });
  const asks = useRef(0);
  useEffect(() => {
    asks.current += 1;
    const mine = asks.current;
    const timer = setTimeout(() => {
      ask<DraftAnswer>("/api/sheet-drafts/check", { sheet: JSON.parse(sheet) as unknown }).then(
        (answer) => {
          if (mine !== asks.current) return;
          setState((before) => ({ answer, ladder: answer.ladder ?? before.ladder, failure: null, of: sheet }));
        },
        (error: unknown) => {
          if (mine !== asks.current) return;
          const failure = error instanceof AskFault ? error.detail : String(error);
          setState((before) => ({ ...before, failure }));
        },
      );
    }, pauseMs);
    return () => clearTimeout(timer);
  }, [sheet, round]);
  useEffect(
    () => () => {
      asks.current = -1;
    },
    [],
  );
  return { answer: state.answer, ladder: state.ladder, failure: state.failure, isOld: state.of !== sheet };
}
