/** The climate chart in words, for those who do not see it. */
import type { ClimateLines, Line } from "./climate-lines.ts";
import type { ShopClock } from "./shop-clock.ts";
import type { TimeScale } from "./time-scale.ts";

/** The spread of each line on the axis, and of the air expected on it: likely, and the band that holds it eight times in ten. */
export function climateText(lines: ClimateLines, unit: "C" | "F", scale: TimeScale, clock: ShopClock): string {
  const { words } = clock;
  const onAxis = (line: Line) =>
    line.filter((value, index) => {
      const ms = (lines.atSeconds[index] ?? Number.NaN) * 1000;
      return value !== null && ms >= scale.fromMs && ms <= scale.toMs;
    }) as number[];
  const least = (values: number[]) => words.number(Math.min(...values), 1);
  const most = (values: number[]) => words.number(Math.max(...values), 1);
  const spread = (name: string, line: Line, sign: string) => {
    const known = onAxis(line);
    if (known.length === 0) return words.t("chart.not-known", { name });
    return words.t("chart.spread", { name, least: least(known), most: most(known), sign });
  };
  const sign = `°${unit}`;
  const parts = [
    spread(words.t("chart.air"), lines.air, sign),
    spread(words.t("chart.panel"), lines.panel, sign),
    spread(words.t("chart.dew-point"), lines.dewPoint, sign),
    spread(words.t("chart.humidity"), lines.humidity, "%"),
    ...(lines.cured.some((value) => value !== null) ? [spread(words.t("chart.cured"), lines.cured, "%")] : []),
  ];
  const said = words.t("chart.said", { from: clock.time(scale.fromMs), parts: parts.join(", ") });
  const likely = onAxis(lines.expected);
  if (likely.length === 0) return said;
  const band = [...onAxis(lines.expectedCold), ...onAxis(lines.expectedWarm)];
  const to = clock.time(scale.toMs);
  const figures = { to, least: least(likely), most: most(likely), cold: least(band), warm: most(band), sign };
  return `${said} ${words.t("chart.said-expected", figures)}`;
}
