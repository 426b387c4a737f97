/** Something that is recorded at once from the desk: sent with a key of its own, so that trying again records it once. */
import { useRef, useState } from "preact/hooks";
import { AskFault, tell } from "../../parts/ask.ts";
import { newId } from "../../parts/new-id.ts";

export interface Act {
  isBusy: boolean;
  /** Why the last one was not recorded. */
  failure: string | null;
  /** True when it is recorded; what was typed is the caller's until then. */
  send(path: string, body: object): Promise<boolean>;
}

export function useAct(): Act {
  const [state, setState] = useState({ isBusy: false, failure: null as string | null });
  const last = useRef({ said: "", key: "" });
  const send = async (path: string, body: object) => {
    const said = JSON.stringify([path, body]);
    if (last.current.said !== said) last.current = { said, key: newId() };
    setState({ isBusy: true, failure: null });
    try {
      await tell("POST", path, body, last.current.key);
      last.current = { said: "", key: "" };
      setState({ isBusy: false, failure: null });
      return true;
    } catch (error) {
      setState({ isBusy: false, failure: error instanceof AskFault ? error.detail : String(error) });
      return false;
    }
  };
  return { ...state, send };
}
