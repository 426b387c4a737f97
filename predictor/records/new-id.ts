import { randomInt } from "node:crypto";

/** Short enough to read out, long enough not to meet twice in a shop: eight letters and digits without look-alikes. */
export function newId(): string {
  const letters = "23456789abcdefghjkmnpqrstuvwxyz";
  return Array.from({ length: 8 }, () => letters[randomInt(letters.length)]).join("");
}
