/** Gives each page the texts that its code names, a file a language, and names in its document what it may fetch after it opened. */
import { basename } from "node:path";
import type { HtmlTagDescriptor, Plugin, Rolldown } from "vite";
import { languages } from "../../words/language.ts";
import { type Message, readMessage } from "../../words/message.ts";
import { catalogues } from "../../words/words.ts";
import { keysIn } from "./keys-in.ts";

export function pageTexts(): Plugin {
  const tagsOf = new Map<string, HtmlTagDescriptor[]>();
  return {
    name: "page-texts",
    generateBundle: {
      order: "pre",
      handler(_options, bundle) {
        const chunks = Object.values(bundle).filter((each) => each.type === "chunk");
        const seen = new Map<string, Set<string>>();
        for (const entry of chunks.filter(({ isEntry }) => isEntry)) {
          const atOnce = chunksFrom(entry, chunks, ({ imports }) => imports);
          const ever = chunksFrom(entry, chunks, ({ imports, dynamicImports }) => [...imports, ...dynamicImports]);
          const keys = keysOf(ever, seen);
          const tags = languages.map((language) => {
            const reference = this.emitFile({
              type: "asset",
              name: `${entry.name}-${language}.json`,
              source: JSON.stringify(textsOf(keys, language)),
            });
            return link("texts", this.getFileName(reference), { hreflang: language });
          });
          const later = [...ever].filter((chunk) => !atOnce.has(chunk));
          const files = later.flatMap(({ fileName, viteMetadata }) => [fileName, ...(viteMetadata?.importedCss ?? [])]);
          tagsOf.set(entry.name, [...tags, ...files.map((file) => link("later", file, {}))]);
        }
      },
    },
    transformIndexHtml: { order: "post", handler: (_html, { chunk }) => tagsOf.get(chunk?.name ?? "") ?? [] },
  };
}

const link = (rel: string, file: string, attrs: Record<string, string>): HtmlTagDescriptor => ({
  tag: "link",
  attrs: { rel, ...attrs, href: `/${file}` },
  injectTo: "head",
});

/** A chunk, those that it asks for, and those that they ask for. */
function chunksFrom(
  entry: Rolldown.OutputChunk,
  all: readonly Rolldown.OutputChunk[],
  asks: (chunk: Rolldown.OutputChunk) => string[],
): Set<Rolldown.OutputChunk> {
  const reached = new Set([entry]);
  for (const chunk of reached) {
    for (const each of all) if (asks(chunk).includes(each.fileName)) reached.add(each);
  }
  return reached;
}

/** Of the code that is ours, as it is left when what nobody asks for is gone. `seen` holds what was found in a module for another page. */
function keysOf(chunks: Iterable<Rolldown.OutputChunk>, seen: Map<string, Set<string>>): string[] {
  const found = new Set<string>();
  for (const { modules } of chunks) {
    for (const [id, { code }] of Object.entries(modules)) {
      if (code === null || id.includes("/node_modules/")) continue;
      if (/\/words\/(words|en|de)\.ts$/.test(id))
        throw new Error(`a page holds every text: it imports ${basename(id)}`);
      const named = seen.get(id) ?? keysIn(code, Object.keys(catalogues.en));
      seen.set(id, named);
      for (const key of named) found.add(key);
    }
  }
  return [...found].sort();
}

function textsOf(keys: readonly string[], language: (typeof languages)[number]): Record<string, Message> {
  const catalogue: Readonly<Record<string, string>> = catalogues[language];
  return Object.fromEntries(keys.map((key) => [key, readMessage(catalogue[key] ?? "", language)]));
}
