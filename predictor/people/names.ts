/** Names as people write them, and when two of them are the same. */

/** As it is kept: accents in one piece, however the keyboard sends them. */
export function writtenName(name: string): string {
  return name.trim().normalize("NFC");
}

/** Equal for spellings of one name: whatever the capitals, in no particular language. By way of upper case, so that ß is SS and every sigma one; lower case before that, for ẞ has no other. */
export function foldedName(name: string): string {
  return writtenName(name).toLowerCase().toUpperCase().toLowerCase().normalize("NFC");
}
