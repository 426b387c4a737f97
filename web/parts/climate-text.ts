/** The climate chart in words, for those who do not see it. */
import type { ClimateLines, Line } from "./climate-lines.ts";
import type { ShopClock } from "./shop-clock.ts";
import type { TimeScale } from "./time-scale.ts";

/** The spread of each line on the axis, and of the air expected on it: likely, and the band that holds it eight times in ten. */
export function climateText(lines: ClimateLines, unit: "C" | "F", scale: TimeScale, clock: ShopClock): string {
  const onAxis = (line: Line) =>
    line.filter((value, index) => {
      const ms = (lines.atSeconds[index] ?? Number.NaN) * 1000;
      return value !== null && ms >= scale.fromMs && ms <= scale.toMs;
    }) as number[];
  const range = (values: number[]) => `${Math.min(...values).toFixed(1)} to ${Math.max(...values).toFixed(1)}`;
  const spread = (name: string, line: Line, sign: string) => {
    const known = onAxis(line);
    return known.length === 0 ? `${name} not known` : `${name} ${range(known)} ${sign}`;
  };
  const degrees = `°${unit}`;
  const parts = [
    spread("air", lines.air, degrees),
    spread("panel", lines.panel, degrees),
    spread("dew point", lines.dewPoint, degrees),
    spread("humidity", lines.humidity, "%"),
  ];
  const likely = onAxis(lines.expected);
  const band = [...onAxis(lines.expectedCold), ...onAxis(lines.expectedWarm)];
  const expected =
    likely.length === 0
      ? ""
      : ` Expected until ${clock.time(scale.toMs)}: air ${range(likely)} ${degrees}, eight times in ten within ${range(band)} ${degrees}.`;
  return `Since ${clock.time(scale.fromMs)}: ${parts.join(", ")}.${expected}`;
}
