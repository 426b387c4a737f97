/** What does not fit in a sheet or a case: where, what was expected there, what was found. */
import type { z } from "zod";

export interface FaultLine {
  /** Keys joined by dots; empty for the whole input. */
  path: string;
  expected: string;
  found: string;
}

/** A sheet that has the right form and does not hold together. */
export class SheetFault extends Error {
  readonly faults: FaultLine[];

  constructor(faults: FaultLine[]) {
    super(faults.map((fault) => `${fault.path}: expected ${fault.expected}, found ${fault.found}`).join("\n"));
    this.name = "SheetFault";
    this.faults = faults;
  }
}

/** The zod error of an input as fault lines, with what stands at each path; unknown keys get a line each. */
export function faultLines(error: z.ZodError, input: unknown): FaultLine[] {
  return error.issues.flatMap((issue) => {
    if (issue.code === "unrecognized_keys") {
      return issue.keys.map((key) => ({
        path: [...issue.path, key].join("."),
        expected: "no such key",
        found: shown(at(input, [...issue.path, key])),
      }));
    }
    const expected = issue.message.replace(/^Invalid input: /, "").replace(/^expected /, "");
    return [{ path: issue.path.join("."), expected, found: shown(at(input, issue.path)) }];
  });
}

function at(input: unknown, path: PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, key) =>
      typeof value === "object" && value !== null ? (value as Record<PropertyKey, unknown>)[key] : undefined,
    input,
  );
}

function shown(value: unknown): string {
  if (value === undefined) return "nothing";
  const text = typeof value === "number" ? String(value) : (JSON.stringify(value) ?? typeof value);
  return text.length > 80 ? `${text.slice(0, 77)}…` : text;
}
