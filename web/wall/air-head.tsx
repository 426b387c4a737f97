/** The head of the wall: place, clock, verdict, and the air as it is now. */
import { useRef } from "preact/hooks";
import type { PlaceView, Verdict } from "../../predictor/serve/api.ts";
import { dashed } from "../parts/coat-words.ts";
import { type Figure, figureOf, marginOf } from "../parts/freshness.ts";
import { VerdictShape } from "../parts/shapes.tsx";
import { ageText, differenceIn, inUnit, type ShopClock } from "../parts/shop-clock.ts";
import { useFit, useWidth } from "../parts/use-size.ts";
import { useWords } from "../parts/words-context.ts";

interface Props {
  view: PlaceView;
  clock: ShopClock;
  nowMs: number;
}

export function AirHead({ view, clock, nowMs }: Props) {
  const { climate, shop, verdict } = view;
  const { words } = clock;
  const unit = shop.units.temperature;
  const sign = `°${unit}`;
  const temperature = (value: number) => words.number(inUnit(value, unit), 1);
  const margin = marginOf(climate, nowMs);
  const place = useRef<HTMLDivElement>(null);
  useFit(place, view.place.name + clock.time(nowMs), useWidth(place), 0.5);
  const isBelow = margin.kind === "current" && margin.value < 0;
  const marginKey = `figure.${climate.panelC === null ? "air-" : ""}${isBelow ? "under" : "over"}-dew-point` as const;
  return (
    <header class="head">
      <div class="head-place" ref={place}>
        <h1>{view.place.name}</h1>
        <time class="head-clock">{clock.time(nowMs)}</time>
      </div>
      <VerdictBlock state={verdict.state} text={words.t(`verdict.${dashed(verdict.state)}`)} />
      <dl class="figures">
        <FigureItem
          name={words.t("figure.air")}
          sign={sign}
          figure={figureOf(climate.airC, nowMs)}
          write={temperature}
        />
        <FigureItem
          name={words.t("figure.humidity")}
          sign="%"
          figure={figureOf(climate.rhPercent, nowMs)}
          write={(value) => words.number(value, 0)}
        />
        <FigureItem
          name={words.t("figure.panel")}
          sign={sign}
          figure={figureOf(climate.panelC, nowMs)}
          write={temperature}
        />
        <FigureItem
          name={words.t(margin.kind === "current" ? marginKey : "figure.dew-point")}
          sign={sign}
          figure={margin}
          write={(value) => words.number(differenceIn(Math.abs(value), unit), 1)}
        />
      </dl>
      <p class="reason">{verdict.reason}</p>
    </header>
  );
}

/** The verdict as a shape and in words. */
export function VerdictBlock({ state, text }: Pick<Verdict, "state"> & { text: string }) {
  const said = useRef<HTMLParagraphElement>(null);
  useFit(said, text, useWidth(said), 0.72);
  return (
    <div class={`verdict verdict-${dashed(state)}`}>
      <VerdictShape state={state} />
      <p ref={said} role="status">
        {text}
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
  const words = useWords();
  return (
    <div class={`figure figure-${figure.kind}`}>
      <dt>{figure.kind === "old" ? words.t("figure.age", { name }) : name}</dt>
      <dd>
        {figure.kind === "current" && (
          <>
            <b>{write(figure.value)}</b>
            <small> {sign}</small>
          </>
        )}
        {figure.kind === "old" && <b>{ageText(figure.ageMs, words)}</b>}
        {figure.kind === "none" && <small>{words.t("figure.none")}</small>}
      </dd>
    </div>
  );
}
