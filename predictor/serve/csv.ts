/** Tables as text: RFC 4180, with a line of names. */

export type Cell = string | number | null;

/** `names` and each row have as many cells. A number is written as it is; null is an empty cell. */
export function csvText(names: readonly string[], rows: readonly (readonly Cell[])[]): string {
  return [names, ...rows].map((cells) => `${cells.map(cellText).join(",")}\r\n`).join("");
}

function cellText(cell: Cell): string {
  if (cell === null) return "";
  if (typeof cell === "number") return Number.isFinite(cell) ? String(cell) : "";
  const harmless = defused(cell);
  return /[",\r\n]/.test(harmless) ? `"${harmless.replaceAll('"', '""')}"` : harmless;
}

/** A text that a spreadsheet would take for a formula begins with an apostrophe, as OWASP's page on CSV injection asks for. */
function defused(text: string): string {
  return /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
}
