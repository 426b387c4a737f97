/** Which texts of the catalogue a piece of code names. A key is never put together but in a template that begins with its first word and a dot. */
import { parseSync } from "vite";

interface Node {
  type: string;
  [name: string]: unknown;
}

/** Keys written out, those that fit a template, and those of each vocabulary: `named("panel", …)`, `{ prefix: "panel", … }`. */
export function keysIn(code: string, keys: readonly string[], fileName = "code.js"): Set<string> {
  const known = new Set(keys);
  const found = new Set<string>();
  const addFitting = (pattern: RegExp) => {
    for (const key of keys) if (pattern.test(key)) found.add(key);
  };
  const addVocabulary = (prefix: string | null) => {
    if (prefix !== null) addFitting(fitting([`${prefix}.`, ""]));
  };
  for (const node of nodesOf(parseSync(fileName, code).program)) {
    const literal = stringOf(node);
    if (literal !== null && known.has(literal)) found.add(literal);
    if (node.type === "TemplateLiteral") {
      const pieces = piecesOf(node);
      if (/^[a-z-]+\./.test(pieces[0] ?? "")) addFitting(fitting(pieces));
    }
    if (node.type === "CallExpression" && nameOf(node.callee) === "named") {
      addVocabulary(stringOf((node.arguments as unknown[])[0]));
    }
    if (node.type === "Property" && nameOf(node.key) === "prefix") addVocabulary(stringOf(node.value));
  }
  return found;
}

/** Every node of a parsed file. */
export function* nodesOf(tree: unknown): Generator<Node> {
  if (Array.isArray(tree)) for (const each of tree) yield* nodesOf(each);
  else if (isNode(tree)) {
    yield tree;
    for (const value of Object.values(tree)) yield* nodesOf(value);
  }
}

/** The name of what is called, or of a property; null where it has none. */
export function nameOf(node: unknown): string | null {
  if (!isNode(node)) return null;
  if (node.type === "Identifier") return String(node.name);
  if (node.type === "ParenthesizedExpression" || node.type === "ChainExpression") return nameOf(node.expression);
  return node.type === "MemberExpression" && node.computed === false ? nameOf(node.property) : stringOf(node);
}

/** A text that is written out; null for anything else. */
export function stringOf(node: unknown): string | null {
  if (!isNode(node)) return null;
  if (node.type === "Literal" && typeof node.value === "string") return node.value;
  const pieces = node.type === "TemplateLiteral" ? piecesOf(node) : [];
  return pieces.length === 1 ? (pieces[0] ?? null) : null;
}

/** What is written out of a template, before, between and after what is put in. */
export function piecesOf(template: Node): string[] {
  return (template.quasis as { value: { cooked: string } }[]).map(({ value }) => value.cooked);
}

const fitting = (pieces: readonly string[]) =>
  new RegExp(`^${pieces.map((piece) => piece.replace(/[^\w-]/g, "\\$&")).join(".*")}$`);

const isNode = (value: unknown): value is Node =>
  typeof value === "object" && value !== null && typeof (value as Node).type === "string";
