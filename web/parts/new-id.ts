/** Ids that a page chooses, so that what is sent twice is recorded once. */
const idCharacters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789";

/** 22 letters and digits by chance. Plain HTTP has no crypto.randomUUID. */
export function newId(): string {
  let id = "";
  while (id.length < 22) {
    for (const byte of crypto.getRandomValues(new Uint8Array(32))) {
      // 248 is the largest multiple of 62 in a byte: every character is as likely.
      if (byte < 248 && id.length < 22) id += idCharacters[byte % 62];
    }
  }
  return id;
}
