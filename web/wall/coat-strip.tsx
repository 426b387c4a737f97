/** One coat on the wall: whose it is, what may be done now, what comes next, and its rail. */
import { useRef } from "preact/hooks";
import type { CoatView } from "../../predictor/serve/api.ts";
import { CoatNotes } from "../parts/coat-notes.tsx";
import { coatWords } from "../parts/coat-words.ts";
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
  const words = coatWords(coat, clock, nowMs);
  const long = coat.car.length > shortName;
  const name = useRef<HTMLHeadingElement>(null);
  const nowLine = useRef<HTMLParagraphElement>(null);
  const nextLine = useRef<HTMLParagraphElement>(null);
  useFit(name, coat.car, useWidth(name), long ? 1 : 0.73);
  useFit(nowLine, `${words.now.text}${words.gate?.state}${words.gate?.time}`, useWidth(nowLine), 0.6);
  useFit(nextLine, `${words.next.text}${words.next.times.map(({ time }) => time).join()}`, useWidth(nextLine), 0.6);
  return (
    <article class="coat" aria-label={`${coat.car}, ${sheet.name}`}>
      <div class="coat-who">
        <h2 class={long ? "long" : ""} ref={name}>
          {coat.car}
        </h2>
        <p class="coat-panels">{coat.panels.join(", ")}</p>
        <p class="coat-what">
          {coat.job} · {sheet.name}
        </p>
      </div>
      <p class={`coat-now mark-text-${words.now.mark.replace(" ", "-")}`} ref={nowLine} aria-live="polite">
        <StateShape mark={words.now.mark} />
        <b>{words.now.text}</b>
        {words.gate !== null && (
          <span class={`gate gate-${words.gate.state}`}>
            <GateShape state={words.gate.state} />
            {words.gate.time !== null && <b>{words.gate.time}</b>}
            <small>{gateWord[words.gate.state]}</small>
          </span>
        )}
      </p>
      <p class="coat-care">{words.cautious && <span class="caution">{coat.caution}</span>}</p>
      <p class="coat-next" ref={nextLine}>
        <StateShape mark={words.next.mark} />
        <span class={words.next.mark === "unknown" ? "why" : ""}>{words.next.text}</span>
        {words.next.times.map(({ time, word }) => (
          <span key={word} class="when">
            <b>{time}</b> <small>{word}</small>
          </span>
        ))}
      </p>
      <CoatNotes coat={coat} clock={clock} nowMs={nowMs} before={words.gate?.detail ?? null} />
      <p class="coat-percent">
        {prediction !== null && (
          <>
            {prediction.curePercent.toFixed(0)} % <small>cured</small>
          </>
        )}
      </p>
      <TimeRail coat={coat} scale={scale} size={size} clock={clock} nowMs={nowMs} />
    </article>
  );
}

const gateWord = { open: "shuts", closing: "shuts", missed: "window missed" } as const;
