/** What tests/bench/chart-page.tsx measures: a time each run, ms. */
export interface ChartTimes {
  bareRedrawMs: number[];
  bareAppendMs: number[];
  ourRedrawMs: number[];
  ourAppendMs: number[];
}
