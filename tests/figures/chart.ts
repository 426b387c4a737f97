/** Writes one chart as SVG: text stays text, a title and a description for who does not see it, light and dark. */

export interface Axis {
  label: string;
  from: number;
  to: number;
  ticks: readonly { at: number; text: string }[];
  /** What is spread evenly along the axis; the value itself unless given. */
  scale?: (value: number) => number;
}

/** Colours of a mark; each is told apart by its label or its dash too. */
export type Colour = "blue" | "orange" | "green" | "grey";
export type Point = readonly [x: number, y: number];

export interface ChartOptions {
  title: string;
  description: string;
  x: Axis;
  y: Axis;
  /** A second scale at the right edge. */
  right?: Axis;
}

const size = { width: 720, height: 380 };
const plot = { left: 76, right: 640, top: 16, bottom: 332 };
const light: Record<Colour, string> = { blue: "#1a5ea8", orange: "#a8480a", green: "#226b34", grey: "#595959" };
const dark: Record<Colour, string> = { blue: "#86bbf2", orange: "#f2a766", green: "#83cf93", grey: "#a8a8a8" };
const style = `<style>
text{font:13px system-ui,sans-serif;fill:#1c1c1c;stroke:#ffffff;stroke-width:3px;paint-order:stroke}.page{fill:#ffffff}.axis{stroke:#1c1c1c}.grid{stroke:#e0e0e0}.none{fill:none}
${coloured(light)}
@media (prefers-color-scheme:dark){text{fill:#ececec;stroke:#16181b}.page{fill:#16181b}.axis{stroke:#ececec}.grid{stroke:#3a3d42}
${coloured(dark)}}
</style>`;

export class Chart {
  private readonly options: ChartOptions;
  private readonly parts: string[] = [];

  constructor(options: ChartOptions) {
    this.options = options;
  }

  /** A line through points; `dashed` for what is carried on or only likely. */
  line(
    points: readonly Point[],
    colour: Colour,
    look: { dashed?: boolean; width?: number; right?: boolean } = {},
  ): void {
    const { dashed = false, width = 2, right = false } = look;
    const dash = dashed ? ' stroke-dasharray="6 4"' : "";
    const at = points.map((point) => this.place(point, right).join(",")).join(" ");
    this.parts.push(`<polyline class="s-${colour} none" stroke-width="${width}"${dash} points="${at}"/>`);
  }

  /** The area between two lines over the same values of x. */
  band(lower: readonly Point[], upper: readonly Point[], colour: Colour): void {
    const at = [...lower, ...upper.toReversed()].map((point) => this.place(point, false).join(",")).join(" ");
    this.parts.push(`<polygon class="f-${colour}" fill-opacity="0.22" points="${at}"/>`);
  }

  dot(point: Point, colour: Colour, look: { hollow?: boolean; right?: boolean } = {}): void {
    const { hollow = false, right = false } = look;
    const [cx, cy] = this.place(point, right);
    const fill = hollow ? "page" : `f-${colour}`;
    this.parts.push(`<circle class="s-${colour} ${fill}" stroke-width="2" cx="${cx}" cy="${cy}" r="4.5"/>`);
  }

  /** A text beside a point, moved by some pixels. */
  text(
    point: Point,
    words: string,
    look: { dx?: number; dy?: number; anchor?: "start" | "middle" | "end"; right?: boolean } = {},
  ): void {
    const { dx = 0, dy = 0, anchor = "start", right = false } = look;
    const [x, y] = this.place(point, right);
    this.parts.push(
      `<text x="${pixels(x + dx)}" y="${pixels(y + dy)}" text-anchor="${anchor}">${escaped(words)}</text>`,
    );
  }

  toString(): string {
    const { title, description, x, y, right } = this.options;
    const { width, height } = size;
    return [
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img" aria-labelledby="title desc">`,
      `<title id="title">${escaped(title)}</title><desc id="desc">${escaped(description)}</desc>`,
      style,
      `<rect class="page" width="${width}" height="${height}"/>`,
      ...this.across(x),
      ...this.upwards(y, plot.left - 8, "end", 16 - plot.left),
      ...(right === undefined ? [] : this.upwards(right, plot.right + 8, "start", size.width - plot.right - 10)),
      `<path class="axis none" d="M${plot.left} ${plot.top}V${plot.bottom}H${plot.right}"/>`,
      ...this.parts,
      "</svg>\n",
    ].join("\n");
  }

  private across(axis: Axis): string[] {
    const ticks = axis.ticks.flatMap(({ at, text }) => {
      const x = this.xOf(at);
      return [
        `<path class="grid" d="M${x} ${plot.top}V${plot.bottom}"/>`,
        `<text x="${x}" y="${plot.bottom + 18}" text-anchor="middle">${escaped(text)}</text>`,
      ];
    });
    const middle = (plot.left + plot.right) / 2;
    return [...ticks, `<text x="${middle}" y="${size.height - 8}" text-anchor="middle">${escaped(axis.label)}</text>`];
  }

  private upwards(axis: Axis, textX: number, anchor: "start" | "end", labelDx: number): string[] {
    const isLeft = anchor === "end";
    const ticks = axis.ticks.flatMap(({ at, text }) => {
      const y = heightOf(axis, at);
      const grid = isLeft ? [`<path class="grid" d="M${plot.left} ${y}H${plot.right}"/>`] : [];
      return [...grid, `<text x="${textX}" y="${pixels(y + 4)}" text-anchor="${anchor}">${escaped(text)}</text>`];
    });
    const x = (isLeft ? plot.left : plot.right) + labelDx;
    const y = (plot.top + plot.bottom) / 2;
    const turned = `transform="rotate(-90 ${x} ${y})" text-anchor="middle"`;
    return [...ticks, `<text x="${x}" y="${y}" ${turned}>${escaped(axis.label)}</text>`];
  }

  private place([x, y]: Point, right: boolean): [number, number] {
    return [this.xOf(x), heightOf((right ? this.options.right : undefined) ?? this.options.y, y)];
  }

  private xOf(value: number): number {
    return pixels(plot.left + shareOf(this.options.x, value) * (plot.right - plot.left));
  }
}

function heightOf(axis: Axis, value: number): number {
  return pixels(plot.bottom - shareOf(axis, value) * (plot.bottom - plot.top));
}

function shareOf({ from, to, scale = (value) => value }: Axis, value: number): number {
  return (scale(value) - scale(from)) / (scale(to) - scale(from));
}

/** To a tenth of a pixel; throws a RangeError for what is no place on a page. */
function pixels(value: number): number {
  if (!Number.isFinite(value)) throw new RangeError(`expected a place on the page, found ${value}`);
  return Math.round(value * 10) / 10;
}

function coloured(colours: Record<Colour, string>): string {
  return Object.entries(colours)
    .map(([name, hex]) => `.s-${name}{stroke:${hex}}.f-${name}{fill:${hex}}`)
    .join("");
}

function escaped(words: string): string {
  return words.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
}
