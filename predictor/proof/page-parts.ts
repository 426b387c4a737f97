/** What the pages of a certificate share: head, foot, tables, and lists that say how much they leave out. */
import type { Words } from "../../words/words.ts";
import type { CertificateFile } from "./certificate-file.ts";
import { innerWidth, type Paper, page, type TextStyle } from "./paper.ts";

export const lineHeight = 10;
const codeSize = 72;
const footTop = page.height - page.margin - 92;

/** Where a page's own content ends. */
export const contentEnd = footTop - 6;

/** Title, shop and car; gives where the content begins. */
export function drawHead(paper: Paper, { shop, car, issuedAt }: CertificateFile, title: string, words: Words): number {
  const half = innerWidth / 2;
  paper.text(page.margin, page.margin, title, { size: 16, bold: true, width: half + 60 });
  const right = { width: half - 70, align: "right" } as const;
  const shopName = shop.invented ? `${shop.name} (${words.t("certificate.invented-shop")})` : shop.name;
  paper.text(page.margin + half + 70, page.margin + 1, shopName, { ...right, size: 9, bold: true });
  const issued = words.t("certificate.issued", { at: { dateMs: Date.parse(issuedAt) } });
  paper.text(page.margin + half + 70, page.margin + 13, issued, { ...right, size: 7, grey: true });
  paper.text(page.margin, page.margin + 23, `${car.job} · ${car.name}`, { size: 11, bold: true, width: innerWidth });
  paper.line([
    [page.margin, page.margin + 38],
    [page.margin + innerWidth, page.margin + 38],
  ]);
  return page.margin + 43;
}

interface Foot {
  digest: string;
  head: { seq: number; hash: string };
  /** Of the record's page. */
  address: string;
}

/** What it does not prove, how it is checked, and where its record is. */
export function drawFoot(paper: Paper, { digest, head, address }: Foot, words: Words): void {
  const width = innerWidth - codeSize - 10;
  let y = footTop;
  paper.line([
    [page.margin, y - 4],
    [page.margin + innerWidth, y - 4],
  ]);
  const write = (content: string, atMost: number, style: TextStyle = {}) => {
    for (const line of paper.lines(content, width, atMost, { size: 7, ...style })) {
      paper.text(page.margin, y, line, { size: 7, ...style });
      y += 8.5;
    }
  };
  write(`${words.t("certificate.not-isocyanate")} ${words.t("caution.ready")}`, 3, { bold: true });
  write(words.t("certificate.how-to-check", { seq: head.seq }), 3);
  write(words.t("certificate.digest", { digest }), 1, { size: 6.5 });
  write(words.t("certificate.head", { seq: head.seq, hash: head.hash }), 1, { size: 6.5 });
  write(address, 1, { size: 6.5 });
  if (paper.lacksLetters) write(words.t("certificate.letters"), 1, { size: 6.5 });
  paper.code(address, page.margin + innerWidth - codeSize, footTop + 2, codeSize);
}

export interface Column {
  title: string;
  width: number;
  align?: "left" | "right";
}

/** Rows under a head; gives where it ends. Each cell is cut to its column. */
export function drawTable(
  paper: Paper,
  { x, y, columns, rows }: { x: number; y: number; columns: readonly Column[]; rows: readonly (readonly string[])[] },
): number {
  const width = columns.reduce((sum, column) => sum + column.width, 0);
  const row = (at: number, cells: readonly string[], style: TextStyle) => {
    let left = x;
    for (const [index, column] of columns.entries()) {
      const { align = "left" } = column;
      paper.text(left, at, cells[index] ?? "", { size: 7.5, ...style, width: column.width - 5, align });
      left += column.width;
    }
  };
  row(
    y,
    columns.map(({ title }) => title),
    { size: 7, grey: true },
  );
  paper.line(
    [
      [x, y + 9.5],
      [x + width - 5, y + 9.5],
    ],
    { width: 0.4 },
  );
  for (const [index, cells] of rows.entries()) row(y + 12 + index * lineHeight, cells, {});
  return y + 12 + rows.length * lineHeight;
}

export function drawHeading(paper: Paper, x: number, y: number, title: string, width: number): number {
  paper.text(x, y, title, { size: 9, bold: true, width });
  return y + 13;
}

export interface List {
  title: string;
  items: readonly string[];
  /** What is said where there are none; nothing, and no title, when absent. */
  none?: string;
}

/**
 * Lists one under the other in the room down to `endY`. Each gets its share of the lines, and what others leave over; what does not fit is told by
 * its number. An item takes at most two lines.
 */
export function drawLists(paper: Paper, y: number, endY: number, lists: readonly List[], words: Words): void {
  const titleHeight = 15;
  const style = { size: 7.5 } as const;
  const shown = lists.filter(({ items, none }) => items.length > 0 || none !== undefined);
  const wrapped = shown.map(({ items, none }) =>
    (items.length > 0 ? items : [none ?? ""]).map((item) => paper.lines(item, innerWidth - 8, 2, style)),
  );
  const needs = wrapped.map((items) => items.reduce((sum, lines) => sum + lines.length, 0));
  const room = Math.floor((endY - y - shown.length * titleHeight) / lineHeight);
  const shares = shared(needs, room);
  let at = y;
  for (const [index, { title }] of shown.entries()) {
    at = drawHeading(paper, page.margin, at + 2, title, innerWidth);
    for (const line of fitting(wrapped[index] ?? [], shares[index] ?? 0, words)) {
      paper.text(page.margin + 8, at, line, style);
      at += lineHeight;
    }
  }
}

/** Lines for each, all that each needs where there is room, else fairly, at least one. */
function shared(needs: readonly number[], room: number): number[] {
  const shares = needs.map(() => 1);
  for (let left = room - needs.length; left > 0; left--) {
    const index = needs.reduce(
      (best, need, each) =>
        (shares[each] as number) < need && (best < 0 || (shares[each] as number) < (shares[best] as number))
          ? each
          : best,
      -1,
    );
    if (index < 0) break;
    shares[index] = (shares[index] as number) + 1;
  }
  return shares;
}

function fitting(items: readonly string[][], atMost: number, words: Words): string[] {
  if (items.flat().length <= atMost) return items.flat();
  const lines: string[] = [];
  let count = 0;
  for (const item of items) {
    if (lines.length + item.length > atMost - 1) break;
    lines.push(...item);
    count++;
  }
  return [...lines, words.t("certificate.more", { count: items.length - count })];
}
