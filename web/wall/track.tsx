/** One place on the overview: its name and air, whether to spray, what comes next on its coats, and its piece of the rail. */
import { useRef } from "preact/hooks";
import type { CoatView, Overview } from "../../predictor/serve/api.ts";
import { coatWords, dashed } from "../parts/coat-words.ts";
import { type Figure, figureOf, marginOf } from "../parts/freshness.ts";
import { GateShape, StateShape, WarningShape } from "../parts/shapes.tsx";
import { ageText, capital, differenceIn, inUnit, type ShopClock } from "../parts/shop-clock.ts";
import type { TimeScale } from "../parts/time-scale.ts";
import { useFit, useWidth } from "../parts/use-size.ts";
import { VerdictBlock } from "./air-head.tsx";
import { coatsAt } from "./pages.ts";
import { TrackRail } from "./track-rail.tsx";

export type PlaceBrief = Overview["places"][number];

const separator = " · ";

interface Props {
  brief: PlaceBrief;
  unit: "C" | "F";
  scale: TimeScale;
  coatsAtMost: number;
  clock: ShopClock;
  nowMs: number;
  lost: boolean;
}

export function Track({ brief, unit, scale, coatsAtMost, clock, nowMs, lost }: Props) {
  const { place, verdict, coats, warning, openWarnings } = brief;
  const { words } = clock;
  const name = useRef<HTMLHeadingElement>(null);
  useFit(name, `${place.name}${warning?.urgency}`, useWidth(name), 0.6);
  const page = coatsAt(coats, coatsAtMost, nowMs);
  const hidden = coats.length - page.items.length;
  // A yard where nothing is sprayed has no verdict to wait for.
  const isSprayed = verdict.sheets.length > 0 || verdict.state !== "no verdict";
  const state = lost ? "no verdict" : verdict.state;
  return (
    <section class="track" aria-label={place.name}>
      <div class="track-who">
        <h2 ref={name}>
          {warning !== null && <WarningShape urgency={warning.urgency} />}
          {place.name}
        </h2>
        <p class="track-air">
          {airTexts(brief, unit, clock, nowMs).map((text) => (
            <span key={text}>{text}</span>
          ))}
        </p>
      </div>
      <div class={isSprayed ? "track-verdict" : "track-verdict track-unsprayed"}>
        {isSprayed && <VerdictBlock state={state} text={words.t(verdictKey(state))} />}
        {warning === null ? (
          <p class="track-why">{isSprayed && !lost && verdict.reason}</p>
        ) : (
          <p class="track-why track-warned">
            {[
              warning.text,
              warning.action,
              ...(openWarnings > 1 ? [words.t("overview.more-warnings", { count: openWarnings - 1 })] : []),
            ].join(separator)}
          </p>
        )}
      </div>
      <div class="track-coats">
        {coats.length === 0 && <p class="track-empty">{capital(words.t("overview.no-coats"))}</p>}
        {page.items.map((coat, index) => (
          <TrackCoat
            key={coat.id}
            coat={coat}
            hidden={index === page.items.length - 1 ? hidden : 0}
            clock={clock}
            nowMs={nowMs}
          />
        ))}
      </div>
      <TrackRail coats={coats} scale={scale} clock={clock} nowMs={nowMs} />
    </section>
  );
}

/** Beside its shape the longest verdict needs no verb. */
const verdictKey = (state: PlaceBrief["verdict"]["state"]) =>
  state === "spray with care" ? "verdict.with-care" : (`verdict.${dashed(state)}` as const);

interface CoatProps {
  coat: CoatView;
  /** How many more coats wait their turn. */
  hidden: number;
  clock: ShopClock;
  nowMs: number;
}

function TrackCoat({ coat, hidden, clock, nowMs }: CoatProps) {
  const { words } = clock;
  const said = coatWords(coat, clock, nowMs);
  const car = useRef<HTMLSpanElement>(null);
  const gate = said.gate?.time == null ? null : said.gate;
  const time = gate?.time ?? said.next.times[0]?.time ?? "";
  // With its day, or with am and pm.
  const isLong = time.length > 5;
  useFit(car, `${coat.car}${time}`, useWidth(car), 0.5);
  const times = said.next.times.map(({ time: at, word }) => ` ${at} ${word}`).join(",");
  return (
    <div class="track-coat">
      <h3>
        {gate === null && <StateShape mark={said.now.mark} />}
        {time !== "" && (
          <span
            class={["track-time", isLong && "long", gate !== null && `gate gate-${gate.state}`]
              .filter(Boolean)
              .join(" ")}
          >
            {gate !== null && <GateShape state={gate.state} />}
            <b>{time}</b>
          </span>
        )}
        <span class="track-car" ref={car}>
          {coat.car}
        </span>
      </h3>
      <p class="track-why">
        {[
          ...(hidden > 0 ? [words.t("overview.more-coats", { count: hidden })] : []),
          capital(words.named("kind", coat.sheet.kind)),
          said.now.text,
          `${said.next.text}${times}`,
          ...(gate === null ? [] : [`${gate.time} ${gate.word}`]),
        ].join(separator)}
      </p>
    </div>
  );
}

/**
 * Air and humidity, then the margin over the dew point, degrees without the unit's letter for want of room. What is too old gives
 * its age instead, and what is not measured is left out.
 */
function airTexts({ climate }: PlaceBrief, unit: "C" | "F", { words }: ShopClock, nowMs: number): string[] {
  const said = (name: string, figure: Figure, value: (value: number) => string) => {
    if (figure.kind === "none") return [];
    if (figure.kind === "current") return [value(figure.value)];
    return [words.t("figure.named", { name: words.t("figure.age", { name }), value: ageText(figure.ageMs, words) })];
  };
  const degrees = (value: number) => `${words.number(value, 1)}°`;
  const airAndHumidity = [
    ...said(words.t("figure.air"), figureOf(climate.airC, nowMs), (celsius) => degrees(inUnit(celsius, unit))),
    ...said(words.t("figure.humidity"), figureOf(climate.rhPercent, nowMs), (rh) => `${words.number(rh, 0)} %`),
  ];
  if (airAndHumidity.length === 0) return [words.t("figure.none")];
  const margin = marginOf(climate, nowMs);
  if (margin.kind !== "current") return [airAndHumidity.join(separator)];
  const name = degrees(differenceIn(Math.abs(margin.value), unit));
  const value = words.t(margin.value < 0 ? "figure.under-dew-point" : "figure.over-dew-point");
  return [airAndHumidity.join(separator), words.t("figure.named", { name, value })];
}
