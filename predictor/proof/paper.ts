/** A4 pages of plain type and lines, made with pdfkit: every line of text is laid and cut here, so that no page runs over. */
import PDFDocument from "pdfkit";
import { create } from "qrcode";
import { printable } from "./printable.ts";

export const page = { width: 595.28, height: 841.89, margin: 40 } as const;
export const innerWidth = page.width - 2 * page.margin;

export interface TextStyle {
  size?: number;
  bold?: boolean;
  /** The text is cut to it; as wide as it is when absent. */
  width?: number;
  align?: "left" | "right" | "center";
  grey?: boolean;
}

interface PaperOptions {
  title: string;
  language: string;
  /** Stands for the time of making, so that the same content gives the same bytes. */
  madeAtMs: number;
}

export class Paper {
  readonly doc: PDFKit.PDFDocument;
  readonly #chunks: Buffer[] = [];
  readonly #ended: Promise<void>;
  #lacksLetters = false;

  constructor({ title, language, madeAtMs }: PaperOptions) {
    const at = new Date(madeAtMs);
    this.doc = new PDFDocument({
      size: "A4",
      margin: 0,
      autoFirstPage: false,
      pdfVersion: "1.7",
      lang: language,
      displayTitle: true,
      info: { Title: title, Creator: "Coatclock", Producer: "Coatclock", CreationDate: at, ModDate: at },
    });
    this.doc.on("data", (chunk: Buffer) => this.#chunks.push(chunk));
    this.#ended = new Promise((resolve, reject) => {
      this.doc.once("end", resolve);
      this.doc.once("error", reject);
    });
  }

  addPage(): void {
    this.doc.addPage();
    this.#lacksLetters = false;
  }

  /** A letter that the page's type lacks stood in a text since the page was begun. */
  get lacksLetters(): boolean {
    return this.#lacksLetters;
  }

  async bytes(): Promise<Buffer> {
    this.doc.end();
    await this.#ended;
    return Buffer.concat(this.#chunks);
  }

  /** One line, its top at `y`, cut with … where it is wider than allowed. */
  text(x: number, y: number, content: string, style: TextStyle = {}): void {
    const { width, align = "left", grey = false } = style;
    const cut = width === undefined ? this.#printable(content) : this.#cut(this.#printable(content), width, style);
    const wide = this.#type(style).widthOfString(cut);
    const room = width ?? wide;
    const left = align === "right" ? x + room - wide : align === "center" ? x + (room - wide) / 2 : x;
    this.doc.fillColor(grey ? "#555555" : "#000000").text(cut, left, y, { lineBreak: false });
  }

  widthOf(content: string, style: TextStyle = {}): number {
    return this.#type(style).widthOfString(this.#printable(content));
  }

  /** A text in lines of a width, at most so many; the last one is cut with … where more would follow. */
  lines(content: string, width: number, atMost: number, style: TextStyle = {}): string[] {
    const fits = (line: string) => this.#type(style).widthOfString(line) <= width;
    const lines: string[] = [];
    let line = "";
    for (const word of this.#printable(content).split(" ").filter(Boolean)) {
      const longer = line === "" ? word : `${line} ${word}`;
      if (fits(longer)) {
        line = longer;
        continue;
      }
      if (line !== "") lines.push(line);
      line = word;
      while (!fits(line)) {
        const head = longestThatFits(line, fits);
        lines.push(head);
        line = line.slice(head.length);
      }
    }
    if (line !== "") lines.push(line);
    if (lines.length <= atMost) return lines;
    return [...lines.slice(0, atMost - 1), this.#cut(lines.slice(atMost - 1).join(" "), width, style)];
  }

  line(points: readonly (readonly [number, number])[], style: { width?: number; dash?: number[]; grey?: string } = {}) {
    const [first, ...rest] = points;
    if (first === undefined) return;
    this.doc
      .save()
      .lineWidth(style.width ?? 0.5)
      .strokeColor(style.grey ?? "#000000");
    if (style.dash !== undefined) this.doc.dash(style.dash[0] as number, { space: style.dash[1] as number });
    this.doc.moveTo(...first);
    for (const point of rest) this.doc.lineTo(...point);
    this.doc.stroke().restore();
  }

  shape(points: readonly [number, number][], { filled = true, grey = "#000000" } = {}): void {
    this.doc
      .save()
      .lineWidth(0.6)
      .polygon(...points);
    if (filled) this.doc.fill(grey);
    else this.doc.stroke(grey);
    this.doc.restore();
  }

  /** A square code, `size` points wide, with nothing to be drawn around it. */
  code(content: string, x: number, y: number, size: number): void {
    const { modules } = create(content, { errorCorrectionLevel: "M" });
    const cell = size / modules.size;
    for (let row = 0; row < modules.size; row++) {
      for (let column = 0; column < modules.size; column++) {
        if (modules.get(row, column)) this.doc.rect(x + column * cell, y + row * cell, cell, cell);
      }
    }
    this.doc.fill("#000000");
  }

  #printable(content: string): string {
    const { text, isWhole } = printable(content);
    this.#lacksLetters ||= !isWhole;
    return text;
  }

  #cut(content: string, width: number, style: TextStyle): string {
    const fits = (text: string) => this.#type(style).widthOfString(text) <= width;
    if (fits(content)) return content;
    return `${longestThatFits(content, (text) => fits(`${text}…`)).trimEnd()}…`;
  }

  #type({ size = 8, bold = false }: TextStyle): PDFKit.PDFDocument {
    return this.doc.font(bold ? "Helvetica-Bold" : "Helvetica").fontSize(size);
  }
}

/** At least one letter, so that whoever asks again gets on. */
function longestThatFits(content: string, fits: (text: string) => boolean): string {
  let [low, high] = [1, content.length];
  while (low < high) {
    const middle = Math.ceil((low + high) / 2);
    if (fits(content.slice(0, middle))) low = middle;
    else high = middle - 1;
  }
  return content.slice(0, low);
}
