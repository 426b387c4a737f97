const decimal = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d{1,3})?$/i;

/** A decimal number with a point, blanks around it allowed; NaN for anything else, also for `nan`, `inf`, `0x1F` and "". */
export function parseDecimal(text: string): number {
  const trimmed = text.trim();
  const value = decimal.test(trimmed) ? Number(trimmed) : Number.NaN;
  return Number.isFinite(value) ? value : Number.NaN;
}
