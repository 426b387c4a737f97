/** The cure model over one case, without a server: `npm run -s predict -- FILE`, or `-` for standard input. */
import { readFileSync } from "node:fs";
import { runCase } from "./cure/case.ts";

process.exitCode = predict(process.argv[2]);

/** Reads, runs and prints; the exit code is 0 with a result and 2, with a line for each fault, without. */
function predict(file: string | undefined): number {
  if (file === undefined)
    return refuse(["expected a file's name, or - for standard input: npm run -s predict -- FILE"]);
  const name = file === "-" ? "standard input" : file;
  let input: unknown;
  try {
    input = JSON.parse(readFileSync(file === "-" ? 0 : file, "utf8"));
  } catch (error) {
    return refuse([`${name}: expected readable JSON, found ${error instanceof Error ? error.message : String(error)}`]);
  }
  const answer = runCase(input);
  if ("faults" in answer) {
    return refuse(
      answer.faults.map(
        ({ path, expected, found }) => `${name}: ${path || "the case"}: expected ${expected}, found ${found}`,
      ),
    );
  }
  process.stdout.write(`${JSON.stringify(answer.result, null, 2)}\n`);
  return 0;
}

function refuse(lines: string[]): number {
  process.stderr.write(`${lines.join("\n")}\n`);
  return 2;
}
