/** An answer of the predictor as a hook: asked for at once, and anew as often as one wants. */
import { useEffect, useState } from "preact/hooks";
import { AskFault, ask } from "./ask.ts";

export interface Asked<T> {
  /** Null while it is on its way, and when there is none. */
  answer: T | null;
  /** Why there is none, in words. */
  failure: string | null;
  /** Asks anew. */
  look(): void;
}

/** `path` null asks nothing. An answer of before stands until the next came; a failure takes it back, since it may be wrong by now. */
export function useAsked<T>(path: string | null, everyMs?: number): Asked<T> {
  const [state, setState] = useState<Omit<Asked<T>, "look">>({ answer: null, failure: null });
  const [looks, setLooks] = useState(0);
  useEffect(() => {
    setState({ answer: null, failure: null });
  }, [path]);
  useEffect(() => {
    if (path === null) return;
    let isOver = false;
    const look = () =>
      ask<T>(path).then(
        (answer) => {
          if (!isOver) setState({ answer, failure: null });
        },
        (error: unknown) => {
          const failure = error instanceof AskFault ? error.detail : String(error);
          if (!isOver) setState({ answer: null, failure });
        },
      );
    void look();
    const again = everyMs === undefined ? undefined : setInterval(() => void look(), everyMs);
    return () => {
      isOver = true;
      clearInterval(again);
    };
  }, [path, everyMs, looks]);
  return { ...state, look: () => setLooks((count) => count + 1) };
}
