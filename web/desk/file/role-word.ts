/** Who made an entry, by what they are in the shop; the program makes some itself. */
import type { EntryView } from "../../../predictor/serve/proof-api.ts";
import type { Words } from "../../../words/words.ts";

export const roleWord = (role: EntryView["role"], words: Words): string =>
  role === "program" ? words.t("file.by-program") : words.t(`role.${role}`);
