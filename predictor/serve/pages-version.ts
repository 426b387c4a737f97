/** Tells one build of the pages from another. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";

/** From the pages that name the assets, whose own names change with their content. Of pages that are not built: no version. */
export function pagesVersion(folder: string): string {
  const hash = createHash("sha256");
  for (const page of ["index.html", "wall.html", "desk.html"]) {
    try {
      hash.update(readFileSync(join(folder, page)));
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
    }
  }
  return hash.digest("hex").slice(0, 12);
}
