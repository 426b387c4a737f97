/** A place's piece of the rail: tape up to now, and of each coat its next stage and its window. The words above say the same. */
import { useRef } from "preact/hooks";
import type { CoatView } from "../../predictor/serve/api.ts";
import { layoutRail } from "../parts/rail-layout.ts";
import type { ShopClock } from "../parts/shop-clock.ts";
import { Gate, StageMark, Tape } from "../parts/time-rail.tsx";
import { shareOf, type TimeScale } from "../parts/time-scale.ts";
import { useSize } from "../parts/use-size.ts";

interface Props {
  coats: readonly CoatView[];
  scale: TimeScale;
  clock: ShopClock;
  nowMs: number;
}

/** Without labels: a character is reckoned wider than any rail. */
const unlabelled = Number.POSITIVE_INFINITY;

export function TrackRail({ coats, scale, clock, nowMs }: Props) {
  const frame = useRef<HTMLDivElement>(null);
  const { width, height } = useSize(frame);
  const room = { widthPx: width, labelCharPx: unlabelled, bandCharPx: unlabelled };
  const rails = coats.map((coat) => ({ coat, layout: layoutRail(coat, scale, nowMs, room, clock) }));
  const [top, bottom] = [height * 0.1, height * 0.9];
  const nowX = shareOf(scale, nowMs) * width;
  const first = rails.reduce<(typeof rails)[number] | null>(
    (a, b) => (a === null || b.layout.finishX < a.layout.finishX ? b : a),
    null,
  );
  return (
    <div class="rail track-rail" ref={frame}>
      {width > 0 && (
        <svg width={width} height={height} aria-hidden="true" focusable="false">
          {scale.ticksMs.map((tick) => (
            <path key={tick} class="rail-tick" d={`M${shareOf(scale, tick) * width} 0 V${height}`} />
          ))}
          <path class="rail-base" d={`M0 ${height / 2} H${width}`} />
          {first !== null && <Tape layout={first.layout} top={top} bottom={bottom} />}
          {rails.map(({ coat, layout }) => (
            <g key={coat.id}>
              {layout.gates
                .filter(({ state }) => state === "open" || state === "closing")
                .map((gate) => (
                  <Gate key={`${gate.fromX} ${gate.toX}`} gate={gate} top={top} bottom={bottom} />
                ))}
              {layout.marks
                .filter(({ stage }) => stage === coat.prediction?.next?.stage)
                .map((mark) => (
                  <StageMark key={mark.stage} mark={mark} top={top} bottom={bottom} widthPx={width} fontPx={0} />
                ))}
            </g>
          ))}
          <path class="rail-now" d={`M${nowX} 0 V${height}`} />
        </svg>
      )}
    </div>
  );
}
