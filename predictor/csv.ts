/** Lines of CSV by RFC 4180: UTF-8, commas, CRLF, quotes where they are needed. */

export type Cell = string | number | boolean | null;

/** One line with its end. Null is an empty cell; a number that is not finite, too. */
export function csvLine(cells: readonly Cell[]): string {
  return `${cells.map(written).join(",")}\r\n`;
}

/** A spreadsheet takes a text that begins so for a formula, and runs it: an apostrophe before it keeps it a text. */
const formula = /^[=+\-@\t\r]/;

function written(cell: Cell): string {
  if (cell === null) return "";
  if (typeof cell !== "string") return Number.isFinite(Number(cell)) ? String(cell) : "";
  const safe = formula.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
