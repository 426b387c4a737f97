/** The outbox as a hook: what waits, and sending it whenever there is hope. */
import { useEffect, useState } from "preact/hooks";
import { phoneOutbox } from "./enter.ts";
import type { OutboxState } from "./outbox.ts";

/** Sends when the page opens, the link is back, the phone is taken up again, and when somebody else is signed in. */
export function useOutbox(isLinked: boolean, signedInAs: string): OutboxState | null {
  const [state, setState] = useState<OutboxState | null>(null);
  useEffect(() => {
    let stop = () => {};
    let isOver = false;
    void phoneOutbox().then(({ outbox }) => {
      if (isOver) return;
      setState(outbox.state);
      const forget = outbox.onChange(setState);
      const send = () => void outbox.flush();
      const sendWhenSeen = () => {
        if (document.visibilityState === "visible") send();
      };
      addEventListener("online", send);
      document.addEventListener("visibilitychange", sendWhenSeen);
      stop = () => {
        forget();
        removeEventListener("online", send);
        document.removeEventListener("visibilitychange", sendWhenSeen);
      };
    });
    return () => {
      isOver = true;
      stop();
    };
  }, []);
  useEffect(() => {
    if (isLinked) void phoneOutbox().then(({ outbox }) => outbox.flush());
  }, [isLinked, signedInAs]);
  return state;
}
