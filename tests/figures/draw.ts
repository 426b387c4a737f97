/** npm run figures: draws the figures of docs/model.md into docs/images or the folder named. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { figures } from "./figures.ts";

const folder = process.argv[2] ?? "docs/images";
mkdirSync(folder, { recursive: true });
for (const [name, draw] of Object.entries(figures)) {
  const file = join(folder, name);
  writeFileSync(file, draw());
  console.log(file);
}
