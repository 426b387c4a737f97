/** One coat on the wall: whose it is, what may be done now, what comes next, and its rail. */
import { useRef } from "preact/hooks";
import type { CoatView } from "../../predictor/serve/api.ts";
import { CoatNotes } from "../parts/coat-notes.tsx";
import { coatWords, dashed } from "../parts/coat-words.ts";
import { GateShape, StateShape } from "../parts/shapes.tsx";
import type { ShopClock } from "../parts/shop-clock.ts";
import { type RailSize, TimeRail } from "../parts/time-rail.tsx";
import type { TimeScale } from "../parts/time-scale.ts";
import { useFit, useWidth } from "../parts/use-size.ts";

interface Props {
  coat: CoatView;
  scale: TimeScale;
  size: RailSize;
  clock: ShopClock;
  nowMs: number;
}

/** A name longer than this is set smaller, on two lines. */
const shortName = 12;

export function CoatStrip({ coat, scale, size, clock, nowMs }: Props) {
  const { prediction, sheet } = coat;
  const { words } = clock;
  const said = coatWords(coat, clock, nowMs);
  const long = coat.car.length > shortName;
  const name = useRef<HTMLHeadingElement>(null);
  const nowLine = useRef<HTMLParagraphElement>(null);
  const nextLine = useRef<HTMLParagraphElement>(null);
  useFit(name, coat.car, useWidth(name), long ? 1 : 0.73);
  useFit(nowLine, `${said.now.text}${said.gate?.state}${said.gate?.time}`, useWidth(nowLine), 0.6);
  useFit(nextLine, `${said.next.text}${said.next.times.map(({ time }) => time).join()}`, useWidth(nextLine), 0.6);
  return (
    <article class="coat" aria-label={`${coat.car}, ${sheet.name}`}>
      <div class="coat-who">
        <h2 class={long ? "long" : ""} ref={name}>
          {coat.car}
        </h2>
        <p class="coat-panels">{coat.panels.map((panel) => words.named("panel", panel)).join(", ")}</p>
        <p class="coat-what">
          {coat.job} · {sheet.name}
        </p>
      </div>
      <p class={`coat-now mark-text-${dashed(said.now.mark)}`} ref={nowLine} aria-live="polite">
        <StateShape mark={said.now.mark} />
        <b>{said.now.text}</b>
        {said.gate !== null && (
          <span class={`gate gate-${said.gate.state}`}>
            <GateShape state={said.gate.state} />
            {said.gate.time !== null && <b>{said.gate.time}</b>}
            <small>{said.gate.word}</small>
          </span>
        )}
      </p>
      <p class="coat-care">{said.cautious && <span class="caution">{coat.caution}</span>}</p>
      <p class="coat-next" ref={nextLine}>
        <StateShape mark={said.next.mark} />
        <span class={said.next.mark === "unknown" ? "why" : ""}>{said.next.text}</span>
        {said.next.times.map(({ time, word }) => (
          <span key={word} class="when">
            <b>{time}</b> <small>{word}</small>
          </span>
        ))}
      </p>
      <CoatNotes coat={coat} clock={clock} nowMs={nowMs} before={said.gate?.detail ?? null} />
      <p class="coat-percent">
        {prediction !== null && (
          <>
            {words.number(prediction.curePercent, 0)} % <small>{words.t("coat.cured")}</small>
          </>
        )}
      </p>
      <TimeRail coat={coat} scale={scale} size={size} clock={clock} nowMs={nowMs} />
    </article>
  );
}
