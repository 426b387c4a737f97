/** Texts in the letters that the type of a printed page has: those of western European languages. */

/** Beyond Latin-1; the rest of Windows' western page, which the standard type of PDF is written in. */
const more = new Set("€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ");
/** The same in letters that there are. */
const instead: Record<string, string> = {
  "−": "-",
  "‐": "-",
  "‑": "-",
  "≥": ">=",
  "≤": "<=",
  "→": "->",
  μ: "µ",
  "\u2009": "\u00a0",
  "\u202f": "\u00a0",
};

/** A letter that the type lacks loses its mark (ş, s), or becomes `?` where it is of another script; `isWhole` then says no. */
export function printable(content: string): { text: string; isWhole: boolean } {
  let text = "";
  let isWhole = true;
  for (const letter of content.normalize("NFC")) {
    const known = isThere(letter) ? letter : (instead[letter] ?? (/\s|\p{Cc}/u.test(letter) ? " " : undefined));
    if (known !== undefined) {
      text += known;
      continue;
    }
    isWhole = false;
    const plain = letter.normalize("NFKD").replaceAll(/\p{M}/gu, "");
    text += plain !== "" && [...plain].every(isThere) ? plain : "?";
  }
  return { text, isWhole };
}

function isThere(letter: string): boolean {
  const code = letter.codePointAt(0) ?? 0;
  return (code >= 0x20 && code <= 0x7e) || (code >= 0xa0 && code <= 0xff) || more.has(letter);
}
