/** The air and the panel a coat had and how far it cured, under its rail. The drawing comes when it is wanted: no other page of the phone needs it. */
import { useEffect, useState } from "preact/hooks";
import type { CoatCourse } from "../../../predictor/serve/api.ts";
import type { ClimateChart } from "../../parts/climate-chart.tsx";
import type { ShopClock } from "../../parts/shop-clock.ts";
import type { TimeScale } from "../../parts/time-scale.ts";
import { useAsked } from "../../parts/use-asked.ts";
import { useShell } from "../core/shell.tsx";

const size = { leftPx: 0, rightPx: 0, heightPx: 190, fontPx: 14 };

interface Props {
  coatId: string;
  scale: TimeScale;
  clock: ShopClock;
  nowMs: number;
}

/** Keeps its room, so that nothing under it jumps. */
export function CourseChart({ coatId, scale, clock, nowMs }: Props) {
  const { cars, lostSinceMs } = useShell();
  const { answer } = useAsked<CoatCourse>(`/api/coats/${encodeURIComponent(coatId)}/course`, 60_000);
  const [chart, setChart] = useState<{ Chart: typeof ClimateChart } | null>(null);
  useEffect(() => {
    import("../../parts/climate-chart.tsx").then(
      (loaded) => setChart({ Chart: loaded.ClimateChart }),
      // Without the network the rail and the times stand alone.
      () => undefined,
    );
  }, []);
  if (chart === null || cars === null) return <div style={{ height: `${size.heightPx}px` }} />;
  return (
    <chart.Chart
      history={answer}
      climate={null}
      ahead={null}
      scale={scale}
      size={size}
      unit={cars.shop.units.temperature}
      clock={clock}
      nowMs={nowMs}
      lost={lostSinceMs !== null}
    />
  );
}
