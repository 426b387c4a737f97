/** Finds a car by what someone types of its job number or name. */
import type { CarView } from "../../../predictor/serve/api.ts";

/** Letters and digits alone count, since nobody types a plate's spaces and dashes alike. */
export function isFound({ job, name }: Pick<CarView, "job" | "name">, asked: string): boolean {
  return bare(`${job} ${name}`).includes(bare(asked));
}

const bare = (text: string): string => text.toLowerCase().replaceAll(/[^\p{L}\p{N}]/gu, "");
