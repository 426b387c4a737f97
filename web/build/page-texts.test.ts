/** That no page lacks a text: what may name one, and that the built pages hold what their sources name. */
import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { parseSync } from "vite";
import { describe, expect, it } from "vitest";
import { type Language, languages } from "../../words/language.ts";
import { readMessage } from "../../words/message.ts";
import { catalogues } from "../../words/words.ts";
import { keysIn, nameOf, nodesOf, piecesOf, stringOf } from "./keys-in.ts";

const web = resolve(import.meta.dirname, "..");
const keys = Object.keys(catalogues.en);
const sources = readdirSync(web, { recursive: true, encoding: "utf8" }).filter(
  (file) => /\.tsx?$/.test(file) && !/\.test\.ts$|\.d\.ts$|^build/.test(file),
);
const sourceOf = (file: string) => readFileSync(join(web, file), "utf8");

/** What is neither a key, nor a template that begins with a key's first word, nor a choice of these: somewhere else it is one, or the types refuse it. */
function unfit(node: unknown): boolean {
  const { type, ...rest } = node as { type: string; [name: string]: unknown };
  switch (type) {
    case "ConditionalExpression":
      return unfit(rest.consequent) || unfit(rest.alternate);
    case "LogicalExpression":
      return unfit(rest.left) || unfit(rest.right);
    case "TSAsExpression":
    case "ParenthesizedExpression":
      return unfit(rest.expression);
    case "Literal":
      return !keys.includes(String(rest.value));
    case "TemplateLiteral":
      return !/^[a-z-]+\./.test(piecesOf({ type, ...rest })[0] ?? "");
    default:
      return !["Identifier", "MemberExpression", "CallExpression"].includes(type);
  }
}

describe.each(sources)("%s", (file) => {
  const nodes = [...nodesOf(parseSync(file, sourceOf(file)).program)];
  const written = (node: unknown) => {
    const { start, end } = node as { start: number; end: number };
    return sourceOf(file).slice(start, end);
  };
  it("names its texts so that the build finds them", () => {
    const calls = nodes.filter(({ type }) => type === "CallExpression");
    const first = (call: (typeof nodes)[number]) => (call.arguments as unknown[])[0];
    const named = calls.filter(({ callee }) => nameOf(callee) === "named");
    const isText = ({ callee }: (typeof nodes)[number]) =>
      nameOf(callee) === "t" ||
      (nameOf(callee) === "text" && /import \{[^}]*\btext\b[^}]*\} from ".*words\/text/.test(sourceOf(file)));
    expect(calls.filter(isText).map(first).filter(unfit).map(written)).toEqual([]);
    expect(
      named
        .map(first)
        .filter((node) => stringOf(node) === null)
        .map(written),
    ).toEqual([]);
    const made = nodes.filter((node) => node.type === "TSAsExpression" && written(node.typeAnnotation) === "TextKey");
    expect(
      made
        .map(({ expression }) => expression)
        .filter((each) => unfit(each) || nameOf(each) !== null)
        .map(written),
    ).toEqual([]);
    const prefixes = nodes.filter((node) => node.type === "Property" && nameOf(node.key) === "prefix");
    expect(prefixes.filter(({ value }) => stringOf(value) === null).map(written)).toEqual([]);
  });
});

const pages = { phone: "index", wall: "wall", desk: "desk" } as const;
type Page = keyof typeof pages;

/** The texts of a built page, by their keys. */
function builtTexts(page: Page, language: Language): Record<string, unknown> {
  const built = resolve(web, "../dist/web");
  const document = readFileSync(join(built, `${pages[page]}.html`), "utf8");
  const file = new RegExp(`<link rel="texts" hreflang="${language}" href="/([^"]+)">`).exec(document)?.[1];
  return JSON.parse(readFileSync(join(built, file ?? "none"), "utf8")) as Record<string, unknown>;
}

describe.each(Object.keys(pages) as Page[])("the built %s", (page) => {
  it.each(languages)("holds, in %s, what its sources name, ready to be written", (language) => {
    const texts = builtTexts(page, language);
    const named = sources
      .filter((file) => file.startsWith(`${page}/`))
      .flatMap((file) => [...keysIn(sourceOf(file), keys, file)]);
    expect(named.length).toBeGreaterThan(10);
    expect(named.filter((key) => texts[key] === undefined)).toEqual([]);
    const catalogue: Readonly<Record<string, string>> = catalogues[language];
    for (const [key, message] of Object.entries(texts))
      expect(message).toEqual(readMessage(catalogue[key] ?? "", language));
  });
  it("holds the same texts in every language, and none that only the predictor writes", () => {
    const held = Object.keys(builtTexts(page, "en"));
    for (const language of languages) expect(Object.keys(builtTexts(page, language))).toEqual(held);
    expect(held.filter((key) => /^(certificate|entry-said|record-fault|plan-fault|model-note)\./.test(key))).toEqual(
      [],
    );
  });
});

it("what the pages share names no text that none of them holds", () => {
  const held = new Set((Object.keys(pages) as Page[]).flatMap((page) => Object.keys(builtTexts(page, "en"))));
  const named = sources
    .filter((file) => file.startsWith("parts/"))
    .flatMap((file) => [...keysIn(sourceOf(file), keys, file)]);
  expect(named.filter((key) => !held.has(key))).toEqual([]);
});
