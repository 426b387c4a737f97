/** Reads a YAML file against a zod schema; every fault at once, each with its line, key, what was expected and what was found. */
import { readFileSync } from "node:fs";
import { isCollection, isNode, isScalar, LineCounter, parseDocument } from "yaml";
import type { z } from "zod";
import type { Text } from "../words/text.ts";
import { faultsOf, type KeyPath } from "./faults.ts";

export interface FileFault {
  line: number;
  key: string;
  expected: string;
  found: string;
  /** The same as a whole sentence for a page, where there is one. */
  text?: Text;
}

/** Says what is wrong with a file, a line for each fault: `shop.yaml:12 places.booth: expected …, found …`. */
export class FileFaults extends Error {
  readonly faults: readonly FileFault[];

  constructor(file: string, faults: readonly FileFault[]) {
    super(
      faults
        .map((fault) => `${file}:${fault.line} ${fault.key}: expected ${fault.expected}, found ${fault.found}`)
        .join("\n"),
    );
    this.name = "FileFaults";
    this.faults = faults;
  }
}

/** A short text must not unfold to a huge one. */
const aliasesAtMost = 100;

export interface YamlFile<T> {
  value: T;
  /** Builds the fault of a key for checks that look across keys. */
  fault(path: KeyPath, expected: string, found?: string, text?: Text): FileFault;
}

/** Reads and checks a file; throws FileFaults, or an Error that names the file when it can't be read. */
export function readYamlFile<T extends z.ZodType>(file: string, schema: T): YamlFile<z.output<T>> {
  let text: string;
  try {
    text = readFileSync(file, "utf8");
  } catch (error) {
    throw new Error(`${file} can't be read: ${(error as Error).message}. Check the path and the file's permissions.`);
  }
  return readYaml(text, file, schema);
}

/** The same for a text that came another way; `file` is what its faults call it. */
export function readYaml<T extends z.ZodType>(text: string, file: string, schema: T): YamlFile<z.output<T>> {
  const lines = new LineCounter();
  const isNotYaml = (error: unknown) => {
    const found = error instanceof Error ? error.message : String(error);
    return new FileFaults(file, [{ line: 1, key: "(YAML)", expected: "YAML of a sensible depth and size", found }]);
  };
  const parsedText = () => {
    try {
      return parseDocument(text, { lineCounter: lines, prettyErrors: false });
    } catch (error) {
      throw isNotYaml(error);
    }
  };
  const document = parsedText();
  const value = () => {
    try {
      return (document.toJS({ maxAliasCount: aliasesAtMost }) as unknown) ?? {};
    } catch (error) {
      throw isNotYaml(error);
    }
  };
  if (document.errors.length > 0) {
    throw new FileFaults(
      file,
      document.errors.map((error) => ({
        line: lines.linePos(error.pos[0]).line,
        key: "(YAML)",
        expected: "well-formed YAML",
        found: error.message,
      })),
    );
  }

  const nodeAt = (path: KeyPath): unknown => (path.length === 0 ? document.contents : document.getIn(path, true));
  const lineOf = (path: KeyPath): number => {
    for (let length = path.length; length >= 0; length--) {
      const node = nodeAt(path.slice(0, length));
      if (isNode(node) && node.range) return lines.linePos(node.range[0]).line;
    }
    return 1;
  };
  const describe = (path: KeyPath): string => {
    const node = nodeAt(path);
    if (node === undefined || node === null) return "nothing";
    if (isScalar(node)) return JSON.stringify(node.value);
    if (isCollection(node)) return node.items.length === 0 ? "an empty list" : "a group of keys";
    return String(node);
  };
  const fault: YamlFile<T>["fault"] = (path, expected, found, said) => ({
    line: lineOf(path),
    key: path.length === 0 ? "(whole file)" : path.join("."),
    expected,
    found: found ?? describe(path),
    ...(said === undefined ? {} : { text: said }),
  });

  const parsed = schema.safeParse(value());
  if (!parsed.success) {
    throw new FileFaults(
      file,
      faultsOf(parsed.error.issues).map((issue) => fault(issue.path, issue.expected, issue.found)),
    );
  }
  return { value: parsed.data, fault };
}
