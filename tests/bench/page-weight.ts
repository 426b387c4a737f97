/** How heavy a built page is, as it is sent: packed. */
import { existsSync, readFileSync, statSync } from "node:fs";
import { join, resolve } from "node:path";
import { gzipSync } from "node:zlib";
import { build, type Rolldown } from "vite";
import type { Language } from "../../words/language.ts";

/** From the source, and compiled. */
const root = ["../..", "../../.."]
  .map((path) => resolve(import.meta.dirname, path))
  .find((path) => existsSync(join(path, "package.json")));
if (root === undefined) throw new Error("this stands in no package");
export const projectFolder = root;

const packedBytes = (text: string | Uint8Array) => gzipSync(text, { level: 9 }).length;

export interface PageWeight {
  /** The document, its scripts and styles, and its texts in one language: what it needs to be used. */
  atOnce: number;
  /** What it may fetch later: drawings, the code on a wall. */
  later: number;
}

/** In bytes. Throws where the pages are not built. */
export function pageWeight(document: "index.html" | "wall.html" | "desk.html", language: Language): PageWeight {
  const folder = join(projectFolder, "dist/web");
  const text = readFileSync(join(folder, document), "utf8");
  const weigh = (pattern: RegExp) =>
    [...text.matchAll(pattern)].reduce((sum, [, path]) => sum + statSync(join(folder, `${path}.gz`)).size, 0);
  const texts = weigh(new RegExp(`<link rel="texts" hreflang="${language}" href="/([^"]+)"`, "g"));
  const program = weigh(/<(?:script|link rel="(?:modulepreload|stylesheet)")[^>]* (?:src|href)="\/([^"]+)"/g);
  if (!(texts > 0 && program > 0)) throw new Error(`${document} names no texts or no program`);
  return { atOnce: packedBytes(text) + program + texts, later: weigh(/<link rel="later" href="\/([^"]+)"/g) };
}

/** What any page with a chart weighs that is made of the same libraries: Preact and uPlot, bundled as our pages are. In bytes. */
export async function bareWeight(): Promise<number> {
  const entry = "virtual:bare";
  const code = `import { h, render } from "preact"; import uPlot from "uplot"; import "uplot/dist/uPlot.min.css";
    render(h("div", null), document.body); new uPlot({ width: 9, height: 9, series: [{}, {}] }, [[1], [1]], document.body);`;
  const built = await build({
    root: projectFolder,
    configFile: false,
    publicDir: false,
    logLevel: "silent",
    plugins: [
      { name: "bare", resolveId: (id) => (id === entry ? id : null), load: (id) => (id === entry ? code : null) },
    ],
    build: { write: false, target: "es2022", modulePreload: { polyfill: false }, rolldownOptions: { input: entry } },
  });
  const { output } = built as Rolldown.RolldownOutput;
  return output.reduce((sum, each) => sum + packedBytes(each.type === "chunk" ? each.code : each.source), 0);
}
