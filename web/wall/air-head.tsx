/** The head of the wall: place, clock, verdict, and the air as it is now. */
import { useRef } from "preact/hooks";
import type { PlaceView, Verdict } from "../../predictor/serve/api.ts";
import { type Figure, figureOf, marginOf } from "../parts/freshness.ts";
import { VerdictShape } from "../parts/shapes.tsx";
import { ageText, differenceText, type ShopClock, temperatureText } from "../parts/shop-clock.ts";
import { useFit, useWidth } from "../parts/use-size.ts";

const verdictWords: Record<Verdict["state"], string> = {
  spray: "Spray",
  "spray with care": "Spray with care",
  "do not spray": "Do not spray",
  "no verdict": "No verdict",
};

interface Props {
  view: PlaceView;
  clock: ShopClock;
  nowMs: number;
}

export function AirHead({ view, clock, nowMs }: Props) {
  const { climate, shop, verdict } = view;
  const unit = shop.units.temperature;
  const sign = `°${unit}`;
  const temperature = (value: number) => temperatureText(value, unit);
  const margin = marginOf(climate, nowMs);
  const place = useRef<HTMLDivElement>(null);
  useFit(place, view.place.name + clock.time(nowMs), useWidth(place), 0.5);
  const below = margin.kind === "current" && margin.value < 0;
  return (
    <header class="head">
      <div class="head-place" ref={place}>
        <h1>{view.place.name}</h1>
        <time class="head-clock">{clock.time(nowMs)}</time>
      </div>
      <VerdictBlock verdict={verdict} />
      <dl class="figures">
        <FigureItem name="air" sign={sign} figure={figureOf(climate.airC, nowMs)} write={temperature} />
        <FigureItem
          name="humidity"
          sign="%"
          figure={figureOf(climate.rhPercent, nowMs)}
          write={(value) => value.toFixed(0)}
        />
        <FigureItem name="panel" sign={sign} figure={figureOf(climate.panelC, nowMs)} write={temperature} />
        <FigureItem
          name={`${climate.panelC === null ? "air " : ""}${below ? "under" : "over"} dew point`}
          sign={sign}
          figure={margin}
          write={(value) => differenceText(Math.abs(value), unit)}
        />
      </dl>
      <p class="reason">{verdict.reason}</p>
    </header>
  );
}

function VerdictBlock({ verdict }: { verdict: Verdict }) {
  const words = useRef<HTMLParagraphElement>(null);
  useFit(words, verdict.state, useWidth(words), 0.72);
  return (
    <div class={`verdict verdict-${verdict.state.replaceAll(" ", "-")}`}>
      <VerdictShape state={verdict.state} />
      <p ref={words} role="status">
        {verdictWords[verdict.state]}
      </p>
    </div>
  );
}

interface FigureProps {
  name: string;
  sign: string;
  figure: Figure;
  write(value: number): string;
}

function FigureItem({ name, sign, figure, write }: FigureProps) {
  return (
    <div class={`figure figure-${figure.kind}`}>
      <dt>{figure.kind === "old" ? `${name}: age` : name}</dt>
      <dd>
        {figure.kind === "current" && (
          <>
            <b>{write(figure.value)}</b>
            <small> {sign}</small>
          </>
        )}
        {figure.kind === "old" && <b>{ageText(figure.ageMs)}</b>}
        {figure.kind === "none" && <small>no sensor</small>}
      </dd>
    </div>
  );
}
