/** What reaches a person now: a strip over every page, with sound and vibration where the phone's owner asked for them. */
import { useEffect, useRef, useState } from "preact/hooks";
import { StateShape, WarningShape } from "../../parts/shapes.tsx";
import { useWords } from "../../parts/words-context.ts";
import { useShell } from "../core/shell.tsx";
import { alertOnce, isAlertOn } from "./alert.ts";
import { type Heard, leadsTo, nothingHeard, withNotice, without } from "./heard.ts";
import "./notices.css";

export function Notices() {
  const { onNotice, go } = useShell();
  const words = useWords();
  const [shown, setShown] = useState(nothingHeard.shown);
  const heard = useRef<Heard>(nothingHeard);
  const take = (next: Heard) => {
    heard.current = next;
    setShown(next.shown);
  };
  useEffect(
    () =>
      onNotice((notice) => {
        const next = withNotice(heard.current, notice);
        if (next === heard.current) return;
        take(next);
        if (isAlertOn()) alertOnce(notice.urgency);
      }),
    [onNotice],
  );

  return (
    <section class="notices" aria-label={words.t("notice.label")} aria-live="assertive">
      {shown.map((notice) => (
        <div key={notice.id} class={`notice-strip notice-${notice.urgency}`}>
          {notice.kind === "ready" ? <StateShape mark="ready" /> : <WarningShape urgency={notice.urgency} />}
          <p>
            <b>{notice.text}</b>
            <span>{notice.action}</span>
          </p>
          <button
            type="button"
            onClick={() => {
              take(without(heard.current, notice.id));
              go(leadsTo(notice));
            }}
          >
            {words.t("notice.look")}
          </button>
          <button type="button" onClick={() => take(without(heard.current, notice.id))}>
            {words.t("notice.close")}
          </button>
        </div>
      ))}
    </section>
  );
}
