/** One coat: what it is ready for, what comes next and when, and its rail; on its own page its whole course, with the air it had. */
import { Fragment } from "preact";
import { useMemo } from "preact/hooks";
import type { CoatView } from "../../../predictor/serve/api.ts";
import { CoatNotes } from "../../parts/coat-notes.tsx";
import { coatWords } from "../../parts/coat-words.ts";
import { GateShape, StateShape } from "../../parts/shapes.tsx";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { TimeRail } from "../../parts/time-rail.tsx";
import { courseScale, sharedScale } from "../../parts/time-scale.ts";
import "../../style/rail.css";
import "../work/work.css";
import { CourseChart } from "./course-chart.tsx";
import "./coats.css";

interface Props {
  coat: CoatView;
  clock: ShopClock;
  nowMs: number;
  /** Leads to the coat's own page; absent where this is that page. */
  href?: string;
}

export function CoatBrief({ coat, clock, nowMs, href }: Props) {
  const { words } = clock;
  const minuteMs = Math.floor(nowMs / 60_000) * 60_000;
  const isOwnPage = href === undefined;
  const scale = useMemo(() => {
    const offsetMs = clock.offsetMs(minuteMs);
    return isOwnPage ? courseScale(coat, minuteMs, offsetMs, 5) : sharedScale([coat], minuteMs, offsetMs, 5);
  }, [coat, minuteMs, clock, isOwnPage]);
  const size = { labelPx: 24, tapePx: isOwnPage ? 56 : 34, bandPx: 24, fontPx: 14, ticks: !isOwnPage };
  const panels = coat.panels.map((name) => words.named("panel", name)).join(", ");
  return (
    <section class="coat-brief" aria-label={`${coat.sheet.name}, ${panels}`}>
      <CoatSays coat={coat} clock={clock} nowMs={nowMs} />
      <p class="coat-what">
        {isOwnPage ? coat.sheet.name : <a href={href}>{coat.sheet.name}</a>}
        {` · ${panels}`}
        {coat.prediction !== null &&
          ` · ${words.t("coat.percent-cured", { percent: coat.prediction.curePercent.toFixed(0) })}`}
      </p>
      <CoatNotes coat={coat} clock={clock} nowMs={nowMs} />
      <TimeRail coat={coat} scale={scale} size={size} clock={clock} nowMs={nowMs} />
      {isOwnPage && <CourseChart coatId={coat.id} scale={scale} clock={clock} nowMs={nowMs} />}
    </section>
  );
}

interface SaysProps extends Pick<Props, "coat" | "clock" | "nowMs"> {
  /** False where it stands once for several coats. */
  caution?: boolean;
}

/** What may be done now, the window that presses, and what comes next. */
export function CoatSays({ coat, clock, nowMs, caution = true }: SaysProps) {
  const says = coatWords(coat, clock, nowMs);
  return (
    <div class="coat-says">
      <p class="coat-now" aria-live="polite">
        <StateShape mark={says.now.mark} />
        <b>{says.now.text}</b>
      </p>
      {says.gate !== null && (
        <p class={`gate gate-${says.gate.state}`}>
          <GateShape state={says.gate.state} />
          <span>
            {says.gate.detail}
            {says.gate.time !== null && ` ${says.gate.word} ${says.gate.time}.`}
          </span>
        </p>
      )}
      <p class="coat-next">
        <StateShape mark={says.next.mark} />
        <span>
          {says.next.text}
          {says.next.times.map(({ time, word }) => (
            <Fragment key={word}>
              {" "}
              <span class="when">
                <b>{time}</b> {word}
              </span>
            </Fragment>
          ))}
        </span>
      </p>
      {caution && says.cautious && <p class="caution">{coat.caution}</p>}
    </div>
  );
}
