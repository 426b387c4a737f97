/** CSV by RFC 4180, with texts that a spreadsheet can't take for formulas. */

export type Cell = string | number | null;

/** What a spreadsheet begins to reckon at. A number is none of it, though it may begin with a minus. */
const formulaStart = /^[=+\-@\t\r]/;

export function csvRow(cells: readonly Cell[]): string {
  return `${cells.map(csvCell).join(",")}\r\n`;
}

function csvCell(cell: Cell): string {
  if (cell === null) return "";
  if (typeof cell === "number") return String(cell);
  const harmless = formulaStart.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(harmless) ? `"${harmless.replaceAll('"', '""')}"` : harmless;
}
