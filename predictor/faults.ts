/** What does not fit in an input: where, what was expected there, what was found. One form for files, requests and sheets. */
import type { z } from "zod";
import type { Text } from "../words/text.ts";

export interface FaultLine {
  /** Keys joined by dots; empty for the whole input. */
  path: string;
  expected: string;
  found: string;
  /** The same as a whole sentence for a page, where there is one. */
  text?: Text;
}

export type KeyPath = readonly (string | number)[];

export interface Fault {
  path: KeyPath;
  expected: string;
  /** Where it is not simply what stands at the path. */
  found?: string;
}

/** The zod error of an input as fault lines, with what stands at each path. */
export function faultLines(error: z.ZodError, input: unknown): FaultLine[] {
  return faultsOf(error.issues).map(({ path, expected, found }) => ({
    path: path.join("."),
    expected,
    found: found ?? shown(at(input, path)),
  }));
}

/** zod's issues in our words: one for each unknown key, unions taken apart to the branch that came closest. */
export function faultsOf(issues: readonly z.core.$ZodIssue[], under: KeyPath = []): Fault[] {
  return issues.flatMap((issue): Fault[] => {
    const path = [...under, ...issue.path.map((part) => (typeof part === "symbol" ? part.toString() : part))];
    switch (issue.code) {
      case "unrecognized_keys":
        return issue.keys.map((key) => ({ path: [...path, key], expected: "no such key here", found: `key ${key}` }));
      case "invalid_union": {
        const closest = [...issue.errors].filter((branch) => branch.length > 0).sort(byDepthThenCount)[0];
        return closest === undefined ? [{ path, expected: issue.message }] : faultsOf(closest, path);
      }
      case "invalid_type":
        return [{ path, expected: `a value of type ${issue.expected}` }];
      case "invalid_value":
        return [{ path, expected: issue.values.map((value) => String(value)).join(" or ") }];
      case "invalid_key":
      case "invalid_element":
        return [{ path, expected: issue.issues.map((inner) => inner.message).join("; ") }];
      default:
        return [
          {
            path,
            expected: issue.message.replace(/^(Invalid input|Too small|Too big): /, "").replace(/^expected /i, ""),
          },
        ];
    }
  });
}

function byDepthThenCount(a: readonly z.core.$ZodIssue[], b: readonly z.core.$ZodIssue[]): number {
  const depth = (branch: readonly z.core.$ZodIssue[]) => Math.max(...branch.map((issue) => issue.path.length));
  return depth(b) - depth(a) || a.length - b.length;
}

function at(input: unknown, path: KeyPath): unknown {
  let value = input;
  for (const key of path) value = typeof value === "object" && value !== null ? Reflect.get(value, key) : undefined;
  return value;
}

function shown(value: unknown): string {
  if (value === undefined) return "nothing";
  const text = typeof value === "number" ? String(value) : (jsonOf(value) ?? typeof value);
  return text.length > 80 ? `${text.slice(0, 77)}…` : text;
}

/** JSON.parse reads what is nested deeper than JSON.stringify can write. */
function jsonOf(value: unknown): string | undefined {
  try {
    return JSON.stringify(value);
  } catch (error) {
    if (error instanceof RangeError) return "what is nested too deeply";
    throw error;
  }
}
