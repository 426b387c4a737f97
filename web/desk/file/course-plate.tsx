/** What a coat went through, on one axis: its rail, what was checked and warned of, the air it had and how far it cured. */
import { useRef } from "preact/hooks";
import type { CoatCourse } from "../../../predictor/serve/api.ts";
import { ClimateChart } from "../../parts/climate-chart.tsx";
import type { ShopClock } from "../../parts/shop-clock.ts";
import { TimeRail } from "../../parts/time-rail.tsx";
import type { TimeScale } from "../../parts/time-scale.ts";
import { useWidth } from "../../parts/use-size.ts";
import type { ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { EventStrip } from "./event-strip.tsx";

interface Props {
  file: ShownFile;
  /** Null while it is on its way. */
  course: CoatCourse | null;
  scale(mostTicks: number): TimeScale;
  clock: ShopClock;
  /** Of the chart, where several stand one under the other. */
  heightPx?: number;
}

/** From this width on the figures of the axis stand beside the chart. */
const roomyPx = 700;
const wide = { leftPx: 56, rightPx: 64, fontPx: 15 };
const narrow = { leftPx: 0, rightPx: 0, fontPx: 14 };
const narrowMostPx = 200;

export function CoursePlate({ file, course, scale: scaleFor, clock, heightPx = 260 }: Props) {
  const { shop, nowMs } = useDesk();
  const frame = useRef<HTMLDivElement>(null);
  const widthPx = useWidth(frame);
  const isWide = widthPx >= roomyPx;
  const size = isWide ? { ...wide, heightPx } : { ...narrow, heightPx: Math.min(heightPx, narrowMostPx) };
  const scale = scaleFor(Math.max(3, Math.floor(widthPx / 130)));
  const isPast = nowMs > scale.toMs;
  const rail = { labelPx: 26, tapePx: 56, bandPx: 26, fontPx: size.fontPx, ticks: false };
  return (
    <div class={isPast ? "plate is-past" : "plate"} ref={frame}>
      <div style={{ paddingInline: `${size.leftPx}px ${size.rightPx}px` }}>
        <TimeRail coat={file.coat} scale={scale} size={rail} clock={clock} nowMs={nowMs} />
        <EventStrip file={file} scale={scale} clock={clock} nowMs={nowMs} />
      </div>
      <ClimateChart
        history={course}
        climate={null}
        ahead={null}
        scale={scale}
        size={size}
        unit={shop.units.temperature}
        clock={clock}
        nowMs={nowMs}
        lost={false}
      />
    </div>
  );
}
