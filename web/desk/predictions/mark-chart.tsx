/** Values with what is known of them as vertical bars, on the desk's pages: told by shape and dash, not by colour alone. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { useWidth } from "../../parts/use-size.ts";
import { useWords } from "../../parts/words-context.ts";
import { drawLines, drawMarks, type Line, type Mark } from "./marks.ts";

export interface MarkChartData {
  marks: readonly Mark[];
  lines: readonly Line[];
  x: Axis;
  y: Axis;
}

export interface Axis {
  min: number;
  max: number;
  ticks: readonly number[];
  text: (value: number) => string;
}

interface Props {
  data: MarkChartData;
  /** Stands for the picture where it can't be seen. */
  text: string;
  /** Of the file that a click on 'picture' saves. */
  fileName: string;
  /** Where the same can be had as a table. */
  csv: string;
  heightPx?: number;
  /** Names of marks and lines. */
  children?: ComponentChildren;
}

/** On a plot this narrow every second label of the axis stands. */
const narrowPx = 520;
const ground = "#14181b";
const font = '15px "DejaVu Sans Condensed", "Roboto Condensed", system-ui, sans-serif';

export function MarkChart({ data, text, fileName, csv, heightPx = 300, children }: Props) {
  const words = useWords();
  const frame = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const widthPx = useWidth(frame);
  useEffect(() => {
    const host = frame.current;
    if (host === null || !(widthPx > 0)) return;
    const made = new uPlot(
      optionsFor(data, widthPx, heightPx),
      [
        [data.x.min, data.x.max],
        [null, null],
      ],
      host,
    );
    plot.current = made;
    return () => {
      made.destroy();
      plot.current = null;
    };
  }, [data, widthPx, heightPx]);
  const savePicture = () => {
    plot.current?.ctx.canvas.toBlob((blob) => {
      if (blob === null) return;
      const link = document.createElement("a");
      link.href = URL.createObjectURL(blob);
      link.download = `${fileName}.png`;
      link.click();
      URL.revokeObjectURL(link.href);
    });
  };
  return (
    <figure class="mark-chart">
      <div ref={frame} role="img" aria-label={text} style={{ minHeight: `${heightPx}px` }} />
      <figcaption>
        <span class="mark-names">{children}</span>
        <span class="mark-exports">
          <a class="desk-button" href={csv} download>
            {words.t("predictions.csv")}
          </a>
          <button type="button" class="desk-button" onClick={savePicture}>
            {words.t("predictions.png")}
          </button>
        </span>
      </figcaption>
    </figure>
  );
}

function optionsFor({ marks, lines, x, y }: MarkChartData, width: number, height: number): uPlot.Options {
  const across = width < narrowPx ? x.ticks.filter((_, index) => index % 2 === 0) : [...x.ticks];
  const axis = { stroke: "#d8d3c2", font, ticks: { show: false }, grid: { stroke: "#3a4247", width: 1 } };
  return {
    width,
    height,
    padding: [12, 16, 0, 0],
    legend: { show: false },
    cursor: { show: false },
    scales: {
      x: { time: false, range: () => [x.min, x.max] },
      y: { range: () => [y.min, y.max] },
    },
    series: [{}, { paths: () => null, points: { show: false } }],
    axes: [
      { ...axis, size: 30, splits: () => across, values: (_plot, splits) => splits.map(x.text) },
      { ...axis, size: 66, splits: () => [...y.ticks], values: (_plot, splits) => splits.map(y.text) },
    ],
    hooks: {
      drawClear: [
        (plot) => {
          plot.ctx.fillStyle = ground;
          plot.ctx.fillRect(0, 0, plot.ctx.canvas.width, plot.ctx.canvas.height);
        },
      ],
      draw: [
        (plot) => {
          drawLines(plot, lines);
          drawMarks(plot, marks);
        },
      ],
    },
  };
}
