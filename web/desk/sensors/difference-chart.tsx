/** The difference of two sensors as a line about zero, with what sound sensors may differ by as two dashed ones. */
import { useMemo, useRef } from "preact/hooks";
import type { DifferenceView } from "../../../predictor/serve/sensor-api.ts";
import { useWidth } from "../../parts/use-size.ts";
import { useWords } from "../../parts/words-context.ts";
import { useDesk } from "../desk.tsx";
import { differencePath, reachOf } from "./difference-line.ts";
import { apartText, dayText, quantityText, signedText } from "./sensor-words.ts";

const heightPx = 150;
const leftPx = 64;
const footPx = 24;
const labelPx = 52;
const dayOf = (stepMinutes: number) => 1440 / stepMinutes;

export function DifferenceChart({ pair }: { pair: DifferenceView }) {
  const words = useWords();
  const { clock } = useDesk();
  const frame = useRef<HTMLDivElement>(null);
  const widthPx = useWidth(frame);
  const { by, bound, from, stepMinutes, quantity, place, sensors } = pair;
  const midnights = useMemo(() => {
    const fromMs = Date.parse(from);
    return by.flatMap((_, index) => {
      const atMs = fromMs + index * stepMinutes * 60_000;
      if (clock.minuteOfDay(atMs) >= stepMinutes) return [];
      const date = new Date(atMs + clock.offsetMs(atMs)).toISOString().slice(0, 10);
      return [{ index, day: dayText(date, words, "column") }];
    });
  }, [by, from, stepMinutes, clock, words]);
  const reach = reachOf(by, bound);
  const box = { width: Math.max(0, widthPx - leftPx), height: heightPx - footPx };
  const y = (value: number) => ((reach - value) / (2 * reach)) * box.height;
  const known = by.filter((value) => value !== null);
  const said = words.t("sensors.trail-said", {
    place: place.name,
    quantity: quantityText(quantity, words),
    first: sensors[0],
    second: sensors[1],
    least: signedText(quantity, Math.min(...known), words),
    most: signedText(quantity, Math.max(...known), words),
  });
  /** Labels that would run into one another are left out. */
  const labelEvery = Math.ceil((labelPx * by.length) / (box.width * dayOf(stepMinutes)));
  return (
    <div class="difference-chart" ref={frame} role="img" aria-label={said}>
      {widthPx > leftPx && (
        <svg width={widthPx} height={heightPx} aria-hidden="true" focusable="false">
          {[bound, 0, -bound].map((value) => (
            <g key={value} class={value === 0 ? "difference-zero" : "difference-bound"}>
              <path d={`M${leftPx} ${y(value)}H${widthPx}`} />
              <text x={leftPx - 8} y={y(value) + 5} text-anchor="end">
                {value === 0 ? apartText(quantity, 0, words) : signedText(quantity, value, words)}
              </text>
            </g>
          ))}
          {midnights.map(({ index, day }, nth) => {
            const x = leftPx + (index / by.length) * box.width;
            return (
              <g key={index} class="difference-day">
                <path d={`M${x} 0V${box.height}`} />
                {nth % labelEvery === 0 && x < widthPx - labelPx && (
                  <text x={x + 3} y={heightPx - 6}>
                    {day}
                  </text>
                )}
              </g>
            );
          })}
          <path class="difference-line" transform={`translate(${leftPx} 0)`} d={differencePath(by, reach, box)} />
        </svg>
      )}
    </div>
  );
}
