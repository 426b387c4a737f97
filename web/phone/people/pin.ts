/** What a PIN may be, as the predictor takes it. */
export const shortestPin = 4;
export const longestPin = 12;

export type PinFault = "pin.too-short" | "pin.not-same";

/** What is the matter with a new PIN and its repetition; null when nothing is. */
export function newPinFault(pin: string, again: string): PinFault | null {
  if (!/^\d{4,12}$/.test(pin)) return "pin.too-short";
  return pin === again ? null : "pin.not-same";
}
